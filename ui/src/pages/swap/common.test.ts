import { expect, test } from "vitest";
import { common } from "./common";

test("only what is in every list is common, and one list has nothing in common", () => {
  expect(
    common([
      ["a", "b", "c"],
      ["c", "a"],
      ["a", "c", "d"],
    ]),
  ).toEqual(["a", "c"]);
  expect(common([["a"], ["b"]])).toEqual([]);
  expect(common([["a"]])).toEqual([]);
  expect(common([])).toEqual([]);
});
