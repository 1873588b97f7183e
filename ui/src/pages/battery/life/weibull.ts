/** A Weibull life: scale in years, shape without unit. */
export interface Life {
  scale_y: number;
  shape: number;
}

/** The share still good after so many years, 1 at the start. */
export function stillGood({ scale_y, shape }: Life, years: number): number {
  return years <= 0 ? 1 : Math.exp(-Math.pow(years / scale_y, shape));
}

/** The years that a share of cells does not reach: 0.5 for the median. */
export function spentBy({ scale_y, shape }: Life, share: number): number {
  return scale_y * Math.pow(-Math.log1p(-share), 1 / shape);
}

/** Whole years at which all the lives are nearly over: the width of their picture. */
export function longest(lives: Life[], share = 0.99): number {
  const years = lives.map((life) => spentBy(life, share)).filter(Number.isFinite);
  return Math.min(40, Math.max(2, Math.ceil(Math.max(0, ...years))));
}

/** Years from 0 to so many that are named on an axis or in a table, a dozen at most. */
export function namedYears(until_y: number): number[] {
  const step = until_y > 24 ? 5 : until_y > 12 ? 2 : 1;
  return Array.from({ length: Math.floor(until_y / step) + 1 }, (_, at) => at * step);
}

/** Points of a curve from 0 to so many years, the ends included. */
export function curve(life: Life, until_y: number, steps: number): [number, number][] {
  return Array.from({ length: steps + 1 }, (_, at) => {
    const years = (until_y * at) / steps;
    return [years, stillGood(life, years)];
  });
}
