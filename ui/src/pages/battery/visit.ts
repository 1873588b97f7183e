import type { BatteryLine, VisitLine } from "../../api/generated";

/**
 * The other batteries of the day on which this unit's is changed first, those of the same cabinet
 * before the others.
 */
export function othersOfVisit(visits: VisitLine[], unit: string): BatteryLine[] {
  const mine = visits
    .filter(({ batteries }) => batteries.some((line) => line.unit.label === unit))
    .sort((a, b) => a.on.localeCompare(b.on))[0];
  if (!mine) return [];
  const sameDay = visits.filter((visit) => visit !== mine && visit.on === mine.on);
  return [mine, ...sameDay]
    .flatMap(({ batteries }) => batteries)
    .filter((line) => line.unit.label !== unit);
}

/** Leaves out those whose change waits on this device to be sent. */
export function withoutWaiting(
  lines: BatteryLine[],
  waiting: { name: string; input: Record<string, unknown> }[],
): BatteryLine[] {
  const done = waiting
    .filter(({ name }) => name === "battery.change")
    .map(({ input }) => input.unit);
  return lines.filter(({ unit }) => !done.includes(unit.label));
}
