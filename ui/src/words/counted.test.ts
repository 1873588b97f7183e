import { expect, test } from "vitest";
import { counted } from "./counted";
import { words as level } from "./spares_level";

test("exactly one has no s", () => {
  expect([0, 1, 2].map((count) => counted(count, "piece"))).toEqual([
    "0 pieces",
    "1 piece",
    "2 pieces",
  ]);
  expect(counted(1325588, "entry", "entries")).toBe("1,325,588 entries");
  expect([1, 3].map((count) => counted(count, "is", "are"))).toEqual(["1 is", "3 are"]);
});

test("a target of one piece is one piece", () => {
  expect(["1", "0.05", "2"].map(level.pieces)).toEqual(["1 piece", "0.05 pieces", "2 pieces"]);
});
