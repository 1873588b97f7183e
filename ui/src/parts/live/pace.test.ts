import { describe, expect, it } from "vitest";
import { Pace } from "./pace";

/** Notes `count` readings with `gap_ms` between them. */
function run(pace: Pace, count: number, gap_ms: number, found = false, from_ms = 0): number {
  let now_ms = from_ms;
  for (let at = 0; at < count; at++) pace.note((now_ms += gap_ms), found);
  return now_ms;
}

describe("Pace", () => {
  it("measures readings a second", () => {
    const pace = new Pace();
    expect(pace.per_s).toBe(0);
    run(pace, 8, 80);
    expect(pace.per_s).toBeCloseTo(12.5);
  });

  it("takes smaller frames until ten a second are read, and never none", () => {
    const pace = new Pace();
    const first = pace.size_px;
    run(pace, 8, 200);
    expect(pace.size_px).toBeLessThan(first);
    run(pace, 200, 200);
    expect(pace.size_px).toBe(640);
  });

  it("takes larger ones where there is time to spare and nothing is found", () => {
    const pace = new Pace();
    const first = pace.size_px;
    run(pace, 60, 40);
    expect(pace.size_px).toBeGreaterThan(first);
  });

  it("stays where labels are being found", () => {
    const pace = new Pace();
    const first = pace.size_px;
    run(pace, 300, 40, true);
    expect(pace.size_px).toBe(first);
  });
});
