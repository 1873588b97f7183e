import { describe, expect, test } from "vitest";
import { beliefCurve, rateAxis, type Belief } from "./belief";

const belief = (worth: number, mean_fit: number): Belief => ({
  worth,
  mean_fit,
  low_fit: mean_fit / 10,
  high_fit: mean_fit * 4,
});

describe("the curve of a belief over the logarithm of the rate", () => {
  test.each([0.5, 1, 3.5, 40])("has the area one for a shape of %s", (shape) => {
    const [from, to] = [-4, 6];
    const points = beliefCurve(belief(shape, 500), from, to);
    const wide = (to - from) / (points.length - 1);
    const area = points.reduce((sum, [, high]) => sum + high * wide, 0);
    expect(area).toBeCloseTo(1, 2);
  });

  // Over the logarithm the density is x^shape e^-x, which is highest at x = shape: at the mean.
  test.each([0.5, 3.5, 40])("is highest at the mean for a shape of %s", (shape) => {
    const points = beliefCurve(belief(shape, 1000), 0, 6);
    const top = points.reduce((best, point) => (point[1] > best[1] ? point : best));
    expect(top[0]).toBeCloseTo(3, 1);
  });

  test("is narrower the more failures it is worth", () => {
    const top = (shape: number) =>
      Math.max(...beliefCurve(belief(shape, 1000), 0, 6).map(([, high]) => high));
    expect(top(10)).toBeGreaterThan(2 * top(1));
  });
});

test("the axis holds the intervals of all beliefs and names round rates", () => {
  const axis = rateAxis([belief(0.5, 500), belief(3.5, 870)]);
  expect(10 ** axis.from).toBeLessThanOrEqual(50);
  expect(10 ** axis.to).toBeGreaterThanOrEqual(3480);
  expect(axis.ticks.map(({ said }) => said)).toContain("1,000");
  expect(axis.ticks.length).toBeGreaterThan(1);
});
