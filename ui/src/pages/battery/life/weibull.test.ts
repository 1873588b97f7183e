import { describe, expect, it } from "vitest";
import { curve, longest, namedYears, spentBy, stillGood } from "./weibull";

describe("a Weibull life", () => {
  // By definition 1/e are left at the scale, whatever the shape.
  it.each([0.7, 1, 3.5])("of shape %d leaves 1/e at its scale", (shape) =>
    expect(stillGood({ scale_y: 8, shape }, 8)).toBeCloseTo(1 / Math.E, 12),
  );

  it("of shape 1 is the exponential: half are left after scale times ln 2", () =>
    expect(spentBy({ scale_y: 8, shape: 1 }, 0.5)).toBeCloseTo(8 * Math.LN2, 12));

  it.each([0.01, 0.1, 0.5, 0.9])("has %d spent by the years that it says", (share) => {
    const life = { scale_y: 7.3, shape: 4.2 };
    expect(1 - stillGood(life, spentBy(life, share))).toBeCloseTo(share, 12);
  });

  it.each([2, 12, 13, 24, 25, 40])("names at most a dozen years up to %d", (until) => {
    const years = namedYears(until);
    expect(years[0]).toBe(0);
    expect(years.length).toBeLessThanOrEqual(13);
    expect(years.at(-1)).toBeLessThanOrEqual(until);
  });

  it("is drawn from all good to nearly none, never rising", () => {
    const life = { scale_y: 7.3, shape: 4.2 };
    const points = curve(life, longest([life]), 50);
    expect(points[0]).toEqual([0, 1]);
    expect(points.at(-1)![1]).toBeLessThanOrEqual(0.01);
    for (let at = 1; at < points.length; at++)
      expect(points[at]![1]).toBeLessThanOrEqual(points[at - 1]![1]);
  });
});
