import { expect, test } from "vitest";
import type { Thing } from "../../../api/generated";
import { add, begin, seenOf, takeOff, unasked, unsaid } from "./count";

const thing = (kind: Thing["kind"], label: string | null, message = ""): Thing => ({
  kind,
  text: label ?? "?",
  label,
  label_human: label,
  key: label,
  scrapped: false,
  message,
});

test("units and lots are counted once, the last scan first", () => {
  const count = begin("ST1/A-01", "2026-11-25T10:00:00Z");
  expect(add(count, thing("unit", "MPU0000001", "unit MP-X 1, good in ST1/A-01"))).toBe("added");
  expect(add(count, thing("unit", "MPU0000002"))).toBe("added");
  expect(add(count, thing("unit", "MPU0000001"))).toBe("again");
  expect(add(count, thing("lot", "MPT0000001", "lot L1 of MP-C"))).toBe("added");
  expect(add(count, thing("slot", "MPS0000001"))).toBe("neither");
  expect(add(count, thing("foreign", null))).toBe("neither");
  expect(count.units.map(({ label }) => label)).toEqual(["MPU0000002", "MPU0000001"]);
  expect(count.units[1]!.title).toBe("MP-X 1");
  expect(seenOf(count)).toBe(3);
});

test("a lot waits for its pieces, and none is something else than not said", () => {
  const count = begin("ST1/C-01", "2026-11-25T10:00:00Z");
  add(count, thing("lot", "MPT0000001"));
  expect(unsaid(count)?.label).toBe("MPT0000001");
  count.lots[0]!.pieces = 0;
  expect(unsaid(count)).toBeUndefined();
  takeOff(count, "MPT0000001");
  expect(seenOf(count)).toBe(0);
});

test("without a connection a label tells its own kind, anything else does not", () => {
  expect(unasked("mpt-4f7-q2k-9")).toMatchObject({ kind: "lot", label: "MPT4F7Q2K9" });
  expect(unasked("L2402-1")).toBeNull();
});
