import { expect, test } from "vitest";
import { aheadOf, lately } from "./history";

const month = (name: string) => ({
  month: name,
  failures: 0,
  no_fault_found: 0,
  issued: 1,
  total: 1,
});

test("the forecast goes on where the history ends, over the turn of the year", () => {
  const ahead = aheadOf({
    months: [month("2026-10-01"), month("2026-11-01")],
    mean_per_month: 0.6,
    low_per_month: 0,
    high_per_month: 2,
  });
  expect(ahead).toHaveLength(12);
  expect(ahead[0]).toEqual({ month: "2026-12", mean: 0.6, low: 0, high: 2 });
  expect(ahead[1]!.month).toBe("2027-01");
  expect(ahead.at(-1)!.month).toBe("2027-11");
});

test("nothing is foreseen from nothing", () => {
  const none = { mean_per_month: null, low_per_month: null, high_per_month: null };
  expect(aheadOf({ months: [month("2026-11-01")], ...none })).toEqual([]);
  expect(aheadOf({ months: [], ...none, mean_per_month: 1 })).toEqual([]);
});

test("a long history keeps its end", () => {
  expect(lately([1, 2, 3], 2)).toEqual([2, 3]);
  expect(lately([1], 2)).toEqual([1]);
});
