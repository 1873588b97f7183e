import { expect, test } from "vitest";
import { quantile, shownUntil } from "./demand";

const poisson = (mean: number, count: number) => {
  let chance = Math.exp(-mean);
  return Array.from({ length: count }, (_, pieces) => {
    if (pieces > 0) chance *= mean / pieces;
    return chance;
  });
};

// Quantiles of the Poisson distribution with mean 2.3, by adding up its terms in Python.
test.each([
  [0.05, 0],
  [0.5, 2],
  [0.95, 5],
  [0.999, 8],
])("a share of %s stays within %s pieces", (share, pieces) => {
  expect(quantile(poisson(2.3, 30), share)).toBe(pieces);
});

test("bars go on until hardly anything is left, and past the level", () => {
  const chances = poisson(2.3, 40);
  const last = shownUntil(chances, null);
  const left = 1 - chances.slice(0, last + 1).reduce((sum, chance) => sum + chance, 0);
  expect(left).toBeLessThan(1e-4);
  expect(shownUntil(chances, 20)).toBe(21);
});

test("known demand alone has its one bar", () => {
  expect(quantile([0, 0, 1], 0.05)).toBe(2);
  expect(shownUntil([0, 0, 1], 2)).toBe(3);
});
