import type { ClosedDays, PlannedVisit, PowerOffLine } from "../../../api/generated";

/** Where things lie in a year: shares of its length, 0 on 1 January. */
export interface Band {
  from: number;
  to: number;
}

export interface Mark<V> {
  at: number;
  visit: V;
}

/** One line of the picture: a cabinet or an area. */
export interface Row<V, O> {
  scope: string;
  title: string;
  area: string;
  marks: Mark<V>[];
  offs: (Band & { off: O })[];
}

type Visit = Pick<PlannedVisit, "on" | "scope" | "scope_title" | "area">;
type Off = Pick<PowerOffLine, "scope" | "from" | "to">;

const DAY_MS = 86_400_000;

/** Years that a plan reaches into; `until` is the first day after it. */
export function yearsOf(from: string, until: string): number[] {
  const first = Number(from.slice(0, 4));
  const last = new Date(Date.parse(until) - DAY_MS).getUTCFullYear();
  return Array.from({ length: Math.max(1, last - first + 1) }, (_, at) => first + at);
}

/** The share of a year that is over when a day begins, below 0 before it and above 1 after it. */
export function shareOf(year: number, day: string): number {
  const [begin, end] = [Date.UTC(year, 0, 1), Date.UTC(year + 1, 0, 1)];
  return (Date.parse(day) - begin) / (end - begin);
}

/** A stretch as it lies in a year; nothing where it lies outside. */
export function bandOf(year: number, from: string, to: string): Band | null {
  const [start, end] = [shareOf(year, from), shareOf(year, to)];
  if (end <= 0 || start >= 1) return null;
  return { from: Math.max(0, start), to: Math.min(1, end) };
}

/** Whole days from the first to the last, both included. */
export function daysBand(year: number, { from, to }: Pick<ClosedDays, "from" | "to">): Band | null {
  return bandOf(year, from, new Date(Date.parse(to) + DAY_MS).toISOString());
}

/**
 * The lines of a year. All scopes of the plan stand in each year, so that lines keep their
 * place from one year to the next.
 */
export function rowsOf<V extends Visit, O extends Off>(
  visits: V[],
  offs: O[],
  year: number,
): Row<V, O>[] {
  const rows = new Map<string, Row<V, O>>();
  for (const { scope, scope_title: title, area } of visits)
    if (!rows.has(scope)) rows.set(scope, { scope, title, area, marks: [], offs: [] });
  for (const visit of visits)
    if (visit.on.startsWith(`${year}-`))
      rows.get(visit.scope)!.marks.push({ at: shareOf(year, visit.on), visit });
  for (const row of rows.values())
    for (const off of offs) {
      const band = [row.scope, row.area, "site"].includes(off.scope)
        ? bandOf(year, off.from, off.to)
        : null;
      if (band) row.offs.push({ ...band, off });
    }
  return [...rows.values()].sort(
    (a, b) => a.area.localeCompare(b.area) || a.scope.localeCompare(b.scope),
  );
}
