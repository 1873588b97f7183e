import type { SpareHistory } from "../../../api/generated";

/** What was asked for in one month. */
export interface Past {
  /** `2026-03`. */
  month: string;
  failures: number;
  no_fault_found: number;
  issued: number;
  total: number;
}

/** What is forecast for one month. */
export interface Ahead {
  /** `2027-03`. */
  month: string;
  mean: number;
  /** Below this in one of ten months, and above `high` in one of ten. */
  low: number;
  high: number;
}

/** The forecast of the year after the history: it is the same for each month. */
export function aheadOf(
  history: Pick<SpareHistory, "months" | "mean_per_month" | "low_per_month" | "high_per_month">,
): Ahead[] {
  const { mean_per_month: mean, low_per_month: low, high_per_month: high } = history;
  const last = history.months.at(-1)?.month;
  if (mean == null || !last) return [];
  return Array.from({ length: 12 }, (_, at) => ({
    month: monthAfter(last, at + 1),
    mean,
    low: low ?? mean,
    high: high ?? mean,
  }));
}

function monthAfter(month: string, count: number): string {
  const at = new Date(
    Date.UTC(Number(month.slice(0, 4)), Number(month.slice(5, 7)) - 1 + count, 1),
  );
  return at.toISOString().slice(0, 7);
}

/** The last so many months, so that a picture stays legible. */
export function lately<T>(months: T[], count: number): T[] {
  return months.slice(Math.max(0, months.length - count));
}
