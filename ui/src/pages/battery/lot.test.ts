import { describe, expect, it } from "vitest";
import { lotsThatMayBeFitted, whyNotThisLot } from "./lot";

const wanted = { battery_model: "BAT-A", cells: 2 };
const good = { model: "BAT-A", expired: false, quarantined: false, pieces: 2 };

describe("a lot for a controller", () => {
  it("may be fitted when type, date, state and pieces agree", () => {
    expect(whyNotThisLot(good, wanted)).toBe("");
  });

  it("is stopped with a reason that names what is wrong", () => {
    expect(whyNotThisLot({ ...good, model: "BAT-B" }, wanted)).toContain("BAT-B");
    expect(whyNotThisLot({ ...good, expired: true }, wanted)).toContain("shelf date");
    expect(whyNotThisLot({ ...good, quarantined: true }, wanted)).toContain("quarantine");
    expect(whyNotThisLot({ ...good, pieces: 1 }, wanted)).toContain("2");
  });

  it("is offered by shelf date, the one that expires first at the top", () => {
    const lots = [
      { ...good, label: "none", shelf_until: null },
      { ...good, label: "late", shelf_until: "2030-01-01" },
      { ...good, label: "soon", shelf_until: "2027-01-01" },
      { ...good, label: "wrong", model: "BAT-B", shelf_until: "2026-12-01" },
    ];
    const offered = lotsThatMayBeFitted(lots, wanted).map(({ label }) => label);
    expect(offered).toEqual(["soon", "late", "none"]);
  });
});
