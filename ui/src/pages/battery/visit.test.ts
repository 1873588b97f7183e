import { expect, it } from "vitest";
import type { BatteryLine, VisitLine } from "../../api/generated";
import { othersOfVisit, withoutWaiting } from "./visit";

const line = (label: string) => ({ unit: { label } }) as BatteryLine;
const visit = (on: string, ...labels: string[]) =>
  ({ on, batteries: labels.map(line) }) as VisitLine;
const labels = (lines: BatteryLine[]) => lines.map(({ unit }) => unit.label);

it("the others of a visit are those of the first that changes the battery", () => {
  const visits = [visit("2031-01-05", "A", "D"), visit("2027-03-01", "B", "A", "C")];
  expect(labels(othersOfVisit(visits, "A"))).toEqual(["B", "C"]);
  const sameDay = [visit("2027-03-01", "E"), ...visits];
  expect(labels(othersOfVisit(sameDay, "A"))).toEqual(["B", "C", "E"]);
  expect(othersOfVisit(visits, "Z")).toEqual([]);
});

it("one whose change waits to be sent is not offered again", () => {
  const waiting = [
    { name: "battery.change", input: { unit: "B" } },
    { name: "battery.seen", input: { unit: "C" } },
  ];
  expect(labels(withoutWaiting([line("B"), line("C")], waiting))).toEqual(["C"]);
});
