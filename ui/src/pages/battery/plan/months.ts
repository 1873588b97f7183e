import type { ClosedDays, PlannedVisit, PowerOffLine } from "../../../api/generated";

/** What stands in one month, each list by day. */
export interface Month {
  /** `2027-03`. */
  name: string;
  visits: PlannedVisit[];
  offs: PowerOffLine[];
  closed: ClosedDays[];
}

/** The months of a year in which there is anything; what lasts longer stands where it begins. */
export function monthsOf(
  year: number,
  visits: PlannedVisit[],
  offs: PowerOffLine[],
  closed: ClosedDays[],
): Month[] {
  const names = Array.from({ length: 12 }, (_, at) => `${year}-${String(at + 1).padStart(2, "0")}`);
  const months = names.map((name) => ({
    name,
    visits: visits.filter(({ on }) => on.startsWith(name)),
    offs: offs
      .filter(({ from }) => from.startsWith(name))
      .sort((a, b) => a.from.localeCompare(b.from)),
    closed: closed.filter(({ from }) => from.startsWith(name)),
  }));
  return months.filter(
    (month) => month.visits.length + month.offs.length + month.closed.length > 0,
  );
}
