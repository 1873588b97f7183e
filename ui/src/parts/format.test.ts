import { describe, expect, it } from "vitest";
import { count, date, days, hours, money, percent } from "./format";

describe("format", () => {
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

  it("writes cents with both places", () => {
    expect(money(1234500)).toBe("12,345.00");
    expect(money(undefined)).toBe("");
  });

  it("writes shares and counts", () => {
    expect(percent(0.9954)).toBe("99.5 %");
    expect(count(1, "slot", "slots")).toBe("1 slot");
    expect(count(1200, "slot", "slots")).toBe("1,200 slots");
  });
});
