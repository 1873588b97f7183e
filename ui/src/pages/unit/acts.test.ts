import { expect, test } from "vitest";
import { actsOf } from "./acts";

const names = (place: string, condition = "good") =>
  actsOf({ place, condition }).map(({ name }) => name);

test("a unit on the bench is tested first of all", () => {
  expect(names("bench", "failed")).toEqual(["tested", "shelf", "repair", "hold", "scrap"]);
});

test("a unit that somebody has in hand is not tested as if it had come out of a slot", () => {
  const out = { to: "Technician 1", at: "2026-11-25T10:00:00Z", next: "" };
  const unit = { place: "bench", condition: "good" };
  const acts = (more: object) =>
    actsOf({ ...unit, handed_out: { ...out, ...more } }).map(({ name }) => name);
  expect(acts({})).toEqual(["wrong", "hold", "scrap"]);
  expect(acts({ swap: "S", slot: "+K12.2.07" })[0]).toBe("tested");
});

test("what is away comes back, what was not found is found, what is scrapped stays so", () => {
  expect(names("repair")).toEqual(["back", "scrap"]);
  expect(names("lost")).toEqual(["found", "scrap"]);
  expect(names("scrapped")).toEqual([]);
});

test("quarantine is put on or lifted, never both", () => {
  expect(names("ST1/A-01")).toContain("hold");
  expect(names("ST1/A-01", "quarantined")).toContain("lift");
  expect(names("ST1/A-01", "quarantined")).not.toContain("hold");
});
