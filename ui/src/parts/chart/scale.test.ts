import { describe, expect, test } from "vitest";
import { axis, band, gutter, line, rounds, stairs, steps, thinned } from "./scale";

describe("round values of an axis", () => {
  test.each([
    [10, 5, [0, 2, 4, 6, 8, 10]],
    [0.97, 5, [0, 0.2, 0.4, 0.6, 0.8, 1]],
    [7, 4, [0, 2, 4, 6, 8]],
    [123_456, 4, [0, 50_000, 100_000, 150_000]],
    [0.0031, 3, [0, 0.002, 0.004]],
  ])("up to %s, about %s", (to, about, values) => {
    expect(rounds(to, about)).toEqual(values);
  });

  test("whole numbers are never split", () => {
    expect(rounds(3, 8, 0, true)).toEqual([0, 1, 2, 3]);
  });

  test("begin at or below the smallest", () => {
    expect(rounds(12, 4, -3)).toEqual([-5, 0, 5, 10, 15]);
  });

  test.each([0, -1, Number.NaN, Number.POSITIVE_INFINITY])("nothing to show: %s", (to) => {
    expect(rounds(to, 5)).toEqual([0, 1]);
  });

  test("the axis ends at its last value", () => {
    const found = axis(83, "Hours", (value) => `${value} h`, { about: 4 });
    expect([found.from, found.to]).toEqual([0, 100]);
    expect(found.ticks.at(-1)).toEqual({ at: 100, said: "100 h" });
  });

  test("bars have half a step beside them", () => {
    const found = steps(0, 3, "Pieces");
    expect([found.from, found.to]).toEqual([-0.5, 3.5]);
    expect(found.ticks.map(({ said }) => said)).toEqual(["0", "1", "2", "3"]);
  });
});

describe("words on a narrow axis", () => {
  const months = Array.from({ length: 24 }, (_, at) => ({ at, said: "Mar 27" }));

  test("are left out evenly until they fit", () => {
    const kept = thinned(months, 0, 24, 300);
    expect(kept.map(({ at }) => at)).toEqual([0, 5, 10, 15, 20]);
    const apart_px = (5 / 24) * 300;
    expect(apart_px).toBeGreaterThan("Mar 27".length * 7);
  });

  test("all stay where there is room", () => {
    expect(thinned(months, 0, 24, 2000)).toHaveLength(24);
  });

  test("the gutter grows with them", () => {
    expect(gutter([{ at: 0, said: "100,000" }])).toBeGreaterThan(gutter([{ at: 0, said: "1" }]));
  });
});

test("paths are written to a tenth of a pixel", () => {
  expect(
    line([
      [0, 1],
      [2.04, 3],
    ]),
  ).toBe("M0.0 1.0L2.0 3.0");
  expect(
    stairs([
      [0, 1],
      [2, 3],
    ]),
  ).toBe("M0.0 1.0H2.0V3.0");
  expect(
    band(
      [
        [0, 0],
        [1, 0],
      ],
      [
        [0, 5],
        [1, 6],
      ],
    ),
  ).toBe("M0.0 0.0L1.0 0.0L1.0 6.0L0.0 5.0Z");
});
