import { describe, expect, it } from "vitest";
import {
  brief,
  chance,
  date,
  dated,
  days,
  figure,
  hours,
  money,
  month,
  percent,
  stretch,
  weekday,
} from "./format";

describe("format", () => {
  it("writes the days in a sentence and leaves what only looks like one", () => {
    expect(dated("due on 2027-01-03: fitted on 2022-01-03")).toBe(
      "due on 3 Jan 2027: fitted on 3 Jan 2022",
    );
    expect(dated("lot 12027-01-034 and L2601-4")).toBe("lot 12027-01-034 and L2601-4");
  });

  it.each([
    [0, "today"],
    [1, "in 1 day"],
    [-3, "3 days ago"],
    [365, "in 12 months"],
    [-1000, "2.7 years ago"],
  ])("says %i days as %s", (amount, said) => expect(days(amount)).toBe(said));

  it.each([
    [null, "not known"],
    [0, "0 h"],
    [71.94, "71.9 h"],
    [240, "10 days"],
    [87_660, "10 years"],
  ])("says %s hours as %s", (amount, said) => expect(hours(amount)).toBe(said));

  it("keeps the day of a date whatever the time zone", () => {
    expect(date("2026-01-01")).toBe("1 Jan 2026");
    expect(date(null)).toBe("");
    expect(date("soon")).toBe("soon");
  });

  it("writes a stretch with its day once where it ends on the same", () => {
    const at = (day: number, hour: number) => new Date(2027, 3, day, hour).toISOString();
    expect(stretch(at(14, 4), at(14, 16))).toBe("14 Apr 2027, 04:00 to 16:00");
    expect(stretch(at(14, 4), at(15, 4))).toBe("14 Apr 2027, 04:00 to 15 Apr 2027, 04:00");
  });

  it("names days of the week and months", () => {
    expect(weekday("2027-03-03")).toBe("Wed 3 Mar 2027");
    expect(month("2027-03")).toBe("March 2027");
    expect(month("2027-12-31")).toBe("December 2027");
    expect(weekday("soon")).toBe("soon");
  });

  it.each([
    [1852.656, "1,853"],
    [-10.8491, "-10.85"],
    [0.0123456, "0.01235"],
    [72, "72"],
  ])("writes the figure %d as %s", (value, said) => expect(figure(value)).toBe(said));

  it("writes cents with both places", () => {
    expect(money(1234500)).toBe("12,345.00");
    expect(money(undefined)).toBe("");
  });

  it("writes shares", () => {
    expect(percent(0.9954)).toBe("99.5 %");
  });
});

describe("a chance is kept apart from never and always", () => {
  it.each([
    [0, "0 %"],
    [1, "100 %"],
    [0.5, "50 %"],
    [0.123, "12 %"],
    [0.0314, "3.1 %"],
    [0.00052, "0.052 %"],
    [0.9954, "99.54 %"],
    [0.99996, "99.996 %"],
    [1e-9, "< 0.0001 %"],
    [1 - 1e-9, "> 99.9999 %"],
  ])("%s", (share, said) => expect(chance(share)).toBe(said));
});

describe("a figure in three digits", () => {
  it.each([
    [0, "0"],
    [0.0072814, "0.00728"],
    [2.4e-9, "≈ 0"],
    [1.2345, "1.23"],
    [99.95, "100"],
    [4906.2, "4,906"],
  ])("%s", (value, said) => expect(brief(value)).toBe(said));
});
