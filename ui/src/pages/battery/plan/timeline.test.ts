import { describe, expect, it } from "vitest";
import { bandOf, daysBand, rowsOf, shareOf, yearsOf } from "./timeline";

describe("the years of a plan", () => {
  it("end with the last day that it looks at", () => {
    expect(yearsOf("2026-11-25", "2028-01-01")).toEqual([2026, 2027]);
    expect(yearsOf("2026-11-25", "2028-01-02")).toEqual([2026, 2027, 2028]);
    expect(yearsOf("2026-11-25", "2026-11-26")).toEqual([2026]);
  });
});

describe("places in a year", () => {
  it("are shares of its own length", () => {
    expect(shareOf(2027, "2027-01-01")).toBe(0);
    expect(shareOf(2027, "2028-01-01")).toBe(1);
    expect(shareOf(2027, "2027-07-02")).toBeCloseTo(182 / 365, 12);
    expect(shareOf(2028, "2028-07-02")).toBeCloseTo(183 / 366, 12);
  });

  it("of a stretch are cut at the ends of the year", () => {
    expect(bandOf(2027, "2026-12-20", "2027-01-11")).toEqual({ from: 0, to: 10 / 365 });
    expect(bandOf(2027, "2026-12-20", "2027-01-01")).toBeNull();
    expect(bandOf(2027, "2028-01-01", "2028-01-02")).toBeNull();
  });

  it("of closed days hold the last one", () => {
    const band = daysBand(2027, { from: "2027-01-01", to: "2027-01-01" })!;
    expect(band.to * 365).toBeCloseTo(1, 9);
  });
});

describe("the lines of a year", () => {
  const visit = (on: string, scope: string, area: string) => ({
    on,
    scope,
    scope_title: `title of ${scope}`,
    area,
  });
  const visits = [
    visit("2027-03-01", "+K12", "HP"),
    visit("2028-02-01", "+K09", "PF"),
    visit("2027-05-01", "+K11", "HP"),
    visit("2028-05-01", "+K12", "HP"),
  ];
  const off = (scope: string) => ({
    scope,
    from: "2027-04-14T04:00:00Z",
    to: "2027-04-15T04:00:00Z",
  });

  it("hold every scope of the plan, by area, with the marks of that year only", () => {
    const rows = rowsOf(visits, [], 2027);
    expect(rows.map(({ scope }) => scope)).toEqual(["+K11", "+K12", "+K09"]);
    expect(rows.map(({ marks }) => marks.length)).toEqual([1, 1, 0]);
  });

  it("show a power-off on each line that it takes power from", () => {
    const lines = (scope: string, year = 2027) =>
      rowsOf(visits, [off(scope)], year)
        .filter(({ offs }) => offs.length > 0)
        .map((row) => row.scope);
    expect(lines("site")).toEqual(["+K11", "+K12", "+K09"]);
    expect(lines("HP")).toEqual(["+K11", "+K12"]);
    expect(lines("+K09")).toEqual(["+K09"]);
    expect(lines("site", 2028)).toEqual([]);
  });
});
