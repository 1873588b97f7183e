import type { Axis } from "../../../parts/chart/scale";
import { number } from "../../../parts/format";
import { words } from "../../../words/spares_rate";

/** What is believed of a failure rate: a gamma distribution, failures in 1e9 h. */
export interface Belief {
  /** Failures that the belief is worth. */
  worth: number;
  mean_fit: number;
  /** Ends of the interval that holds nine tenths. */
  low_fit: number;
  high_fit: number;
}

/** Decades that hold the intervals of all, with a little beside them. */
export function rateAxis(beliefs: Belief[]): Axis {
  const low = Math.min(
    ...beliefs.map(({ low_fit, mean_fit }) => Math.max(low_fit, mean_fit / 1e4)),
  );
  const high = Math.max(...beliefs.map(({ high_fit, mean_fit }) => Math.max(high_fit, mean_fit)));
  const from = Math.floor(Math.log10(Math.max(low, 1e-3)) * 2) / 2;
  const to = Math.max(from + 1, Math.ceil((Math.log10(Math.max(high, 1e-2)) + 0.1) * 2) / 2);
  const decades = Math.floor(to) - Math.ceil(from);
  const marks = decades > 3 ? [1] : decades > 1 ? [1, 3] : [1, 2, 5];
  const ticks = Array.from({ length: Math.ceil(to) - Math.floor(from) + 1 }, (_, at) => at)
    .flatMap((at) => marks.map((mark) => mark * 10 ** (Math.floor(from) + at)))
    .map((fit) => ({ at: Math.log10(fit), said: number(fit, 3) }))
    .filter(({ at }) => at >= from - 1e-9 && at <= to + 1e-9);
  return { from, to, ticks, title: words.fitAxis };
}

/**
 * Points of a belief over the logarithm of the rate, made so that the area is one.
 *
 * Over the logarithm a gamma density with a shape below one has a top as well; the constant is
 * found by adding up, so no gamma function is needed.
 */
export function beliefCurve(
  { worth: shape, mean_fit }: Belief,
  from: number,
  to: number,
): [number, number][] {
  const high = (log: number) => {
    const times = (10 ** log / mean_fit) * shape;
    return Math.exp(shape * Math.log(times) - times - (shape * Math.log(shape) - shape));
  };
  const wide = 1 / 60;
  let area = 0;
  for (let log = from - 6; log < to + 3; log += wide) area += high(log) * wide;
  const count = 160;
  return Array.from({ length: count + 1 }, (_, at) => {
    const log = from + ((to - from) * at) / count;
    return [log, high(log) / area];
  });
}
