import { expect, test } from "vitest";
import { inEveryList } from "./in_every_list";

test("only what is in every list is common, and one list has nothing in common", () => {
  expect(
    inEveryList([
      ["a", "b", "c"],
      ["c", "a"],
      ["a", "c", "d"],
    ]),
  ).toEqual(["a", "c"]);
  expect(inEveryList([["a"], ["b"]])).toEqual([]);
  expect(inEveryList([["a"]])).toEqual([]);
  expect(inEveryList([])).toEqual([]);
});
