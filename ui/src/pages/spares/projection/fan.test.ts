import { expect, test } from "vitest";
import { monthAxis, shortMonth } from "./fan";

test.each([
  ["2027-03", "Mar 27"],
  ["2026-12-31", "Dec 26"],
  ["2030-01", "Jan 30"],
])("%s is written %s", (month, said) => expect(shortMonth(month)).toBe(said));

test("each month has a place on the axis", () => {
  const axis = monthAxis([{ month: "2026-12" }, { month: "2027-01" }]);
  expect(axis.ticks).toEqual([
    { at: 0, said: "Dec 26" },
    { at: 1, said: "Jan 27" },
  ]);
  expect(axis.from).toBeLessThan(0);
  expect(axis.to).toBeGreaterThan(1);
});
