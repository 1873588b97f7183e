/** Longest side of a frame, px: a larger one shows smaller labels, a smaller one is read faster. */
export const SIZES_PX = [640, 800, 960, 1280, 1600, 1920] as const;

/** Below this many readings a second a moving hand outruns the screen. */
export const LEAST_PER_S = 10;

/** Readings that a decision looks back on. */
const LOOK_BACK = 8;

/** With so much to spare the next larger size is tried. */
const SPARE = 1.8;

/** A larger size is tried again after so many readings only, so that it does not swing. */
const PATIENCE = 40;

/**
 * Measures how many frames are read a second and chooses their size.
 *
 * Tell it of each reading; it gives the longest side of the next frame.
 */
export class Pace {
  #at = 3;
  #times_ms: number[] = [];
  #since = 0;

  /** Longest side of the next frame, px. */
  get size_px(): number {
    return SIZES_PX[this.#at]!;
  }

  /** Readings a second over the last few; 0 until there are two. */
  get per_s(): number {
    const span_ms = (this.#times_ms.at(-1) ?? 0) - (this.#times_ms[0] ?? 0);
    return span_ms > 0 ? ((this.#times_ms.length - 1) * 1000) / span_ms : 0;
  }

  /** Notes a reading that came at `now_ms`; `found` says whether a label was in it. */
  note(now_ms: number, found: boolean): void {
    this.#times_ms.push(now_ms);
    if (this.#times_ms.length > LOOK_BACK) this.#times_ms.shift();
    this.#since += 1;
    if (this.#times_ms.length < LOOK_BACK) return;
    if (this.per_s < LEAST_PER_S && this.#at > 0) this.#go(-1);
    else if (!found && this.#since > PATIENCE && this.per_s > LEAST_PER_S * SPARE) this.#go(1);
  }

  #go(by: number): void {
    this.#at = Math.min(SIZES_PX.length - 1, Math.max(0, this.#at + by));
    this.#times_ms = [];
    this.#since = 0;
  }
}
