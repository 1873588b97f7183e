/** A value that is named on an axis. */
export interface Tick {
  at: number;
  said: string;
}

/** One side of a picture: from where to where it goes, what is named on it, and its title. */
export interface Axis {
  from: number;
  to: number;
  ticks: Tick[];
  title: string;
}

/** Round values (1, 2 or 5 times a power of ten apart) from `from` to the first at or above `to`. */
export function rounds(to: number, about: number, from = 0, whole = false): number[] {
  if (!Number.isFinite(to) || !Number.isFinite(from) || to <= from) return [from, from + 1];
  const rough = (to - from) / Math.max(1, about);
  const power = 10 ** Math.floor(Math.log10(rough));
  const factor = [1, 2, 5, 10].find((factor) => factor * power >= rough * 0.999) ?? 10;
  const step = whole ? Math.max(1, Math.round(factor * power)) : factor * power;
  const first = Math.floor(from / step + 1e-9);
  const last = Math.ceil(to / step - 1e-9);
  return Array.from({ length: last - first + 1 }, (_, at) => cleaned((first + at) * step));
}

/** An axis of round values that begins at or below `from` and ends at or above `to`. */
export function axis(
  to: number,
  title: string,
  said: (value: number) => string = String,
  { from = 0, about = 5, whole = false } = {},
): Axis {
  const values = rounds(to, about, from, whole);
  return {
    from: values[0]!,
    to: values.at(-1)!,
    ticks: values.map((at) => ({ at, said: said(at) })),
    title,
  };
}

/** Whole numbers from `from` to `to`, as the steps of bars: an axis with half a step beside them. */
export function steps(from: number, to: number, title: string): Axis {
  const ticks = Array.from({ length: to - from + 1 }, (_, at) => from + at);
  return {
    from: from - 0.5,
    to: to + 0.5,
    ticks: ticks.map((at) => ({ at, said: String(at) })),
    title,
  };
}

const LETTER_PX = 7;

/** Keeps every nth of the ticks so that their words do not touch in so many pixels. */
export function thinned(ticks: Tick[], from: number, to: number, width_px: number): Tick[] {
  if (ticks.length < 2 || to <= from || width_px <= 0) return ticks;
  const widest = Math.max(...ticks.map(({ said }) => said.length)) * LETTER_PX + 12;
  const apart = ((ticks[1]!.at - ticks[0]!.at) / (to - from)) * width_px;
  const every = [1, 2, 5, 10, 20, 50, 100].find((every) => every * apart >= widest) ?? 200;
  return ticks.filter((_, at) => at % every === 0);
}

/** Room for the words of the upright axis, px. */
export function gutter(ticks: Tick[]): number {
  return Math.max(22, Math.max(0, ...ticks.map(({ said }) => said.length)) * LETTER_PX + 10);
}

/** Room that the words of the last tick take beyond the end of the axis across, px. */
export function overhang(ticks: Tick[]): number {
  return Math.max(14, ((ticks.at(-1)?.said.length ?? 0) * LETTER_PX) / 2 + 4);
}

/** A path through points given in pixels. */
export function line(points: [number, number][]): string {
  return points
    .map(([x, y], at) => `${at === 0 ? "M" : "L"}${x.toFixed(1)} ${y.toFixed(1)}`)
    .join("");
}

/** A path that holds each value until the next point, as stairs. */
export function stairs(points: [number, number][]): string {
  return points
    .map(([x, y], at) =>
      at === 0 ? `M${x.toFixed(1)} ${y.toFixed(1)}` : `H${x.toFixed(1)}V${y.toFixed(1)}`,
    )
    .join("");
}

/** The area between an upper and a lower line over the same places. */
export function band(upper: [number, number][], lower: [number, number][]): string {
  return `${line([...upper, ...[...lower].reverse()])}Z`;
}

/** Takes away what binary fractions add to a decimal step. */
function cleaned(value: number): number {
  return Number(value.toPrecision(12));
}
