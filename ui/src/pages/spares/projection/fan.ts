import type { ProjectedMonth } from "../../../api/generated";
import type { Axis } from "../../../parts/chart/scale";

/** The stock at the end of one month: pieces that it is not below in so many of 100 cases. */
export interface FanMonth {
  /** `2027-03`. */
  month: string;
  p5: number;
  p25: number;
  p50: number;
  p75: number;
  p95: number;
  mean: number;
  /** Chance that somebody asked in vain in this month. */
  stock_out: number;
  /** Pieces ordered that arrive in this month. */
  arrives: number;
}

const MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split(" ");

/** `Mar 27` of `2027-03`. */
export function shortMonth(month: string): string {
  const name = MONTHS[Number(month.slice(5, 7)) - 1];
  return name ? `${name} ${month.slice(2, 4)}` : month;
}

/** An axis of months, with room for half a month beside the first and the last. */
export function monthAxis(months: { month: string }[]): Axis {
  return {
    from: -0.5,
    to: Math.max(0.5, months.length - 0.5),
    ticks: months.map(({ month }, at) => ({ at, said: shortMonth(month) })),
    title: "",
  };
}

export function besideOf(present: FanMonth[] | null, at: number): number | null {
  return present?.[at]?.stock_out ?? null;
}

/** Months of a reply as they are drawn. */
export function fanMonths(months: ProjectedMonth[]): FanMonth[] {
  return months.map(({ until, p05, p25, p50, p75, p95, mean, stock_out, arrives }) => ({
    month: until.slice(0, 7),
    p5: p05,
    p25,
    p50,
    p75,
    p95,
    mean,
    stock_out,
    arrives,
  }));
}
