import { expect, test } from "vitest";
import { readKept, writeKept, type Place } from "./kept.svelte";

function place(room = Number.POSITIVE_INFINITY): Place & { all: Map<string, string> } {
  const all = new Map<string, string>();
  return {
    all,
    getItem: (key) => all.get(key) ?? null,
    setItem: (key, value) => {
      if (value.length > room) throw new Error("full");
      all.set(key, value);
    },
    removeItem: (key) => void all.delete(key),
  };
}

test("what was kept is read again, and null removes it", () => {
  const here = place();
  writeKept("a", { pieces: 3 }, here);
  expect(readKept("a", here)).toEqual({ pieces: 3 });
  writeKept("a", null, here);
  expect(here.all.size).toBe(0);
  expect(readKept("a", here)).toBeNull();
});

test("a device without room and a text that is no JSON break nothing", () => {
  const full = place(3);
  writeKept("a", { pieces: 3 }, full);
  expect(readKept("a", full)).toBeNull();
  const odd = place();
  odd.setItem("a", "{");
  expect(readKept("a", odd)).toBeNull();
});
