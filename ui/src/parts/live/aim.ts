import type { FoundLabel, PhotoReading } from "../../api/generated";
import { cardOf } from "../thing";

/** Side of the aiming frame as a share of the shorter side of the picture. */
export const AIM_SHARE = 0.62;

/** How long a label stays on the screen after the last frame that showed it, ms. */
const KEPT_MS = 500;

/** So many frames running must show the same one label before it opens by itself. */
const AGREEING = 2;

/** A label on the screen. */
export interface Seen {
  key: string;
  found: FoundLabel;
  /** Width and height of the frame that showed it, px. */
  width_px: number;
  height_px: number;
  inAim: boolean;
  last_ms: number;
}

/**
 * Remembers the labels of the last frames and tells which one to open.
 *
 * One label of ours alone in the aiming frame opens once two frames running showed it; so a hand
 * that sweeps along a rail opens nothing. Several there are left for a person to choose from.
 */
export class Aim {
  #seen = new Map<string, Seen>();
  #candidate = "";
  #agreeing = 0;

  /** Takes a reading; gives the label that may open now, if any. */
  note(reading: PhotoReading, now_ms: number): FoundLabel | null {
    const { width_px, height_px } = reading;
    const fresh: Seen[] = reading.found.map((found) => ({
      key: found.thing.label ?? `${found.thing.kind} ${found.thing.text}`,
      found,
      width_px,
      height_px,
      inAim: isInAim(found, width_px, height_px),
      last_ms: now_ms,
    }));
    for (const seen of fresh) this.#seen.set(seen.key, seen);
    this.forget(now_ms);
    const ours = fresh.filter((seen) => seen.inAim && cardOf(seen.found.thing) !== null);
    const only = new Set(ours.map((seen) => seen.key)).size === 1 ? ours[0]! : null;
    this.#agreeing = only && only.key === this.#candidate ? this.#agreeing + 1 : only ? 1 : 0;
    this.#candidate = only?.key ?? "";
    return only && this.#agreeing >= AGREEING ? only.found : null;
  }

  /** Lets go of what was not seen for a while. */
  forget(now_ms: number): void {
    for (const [key, { last_ms }] of this.#seen)
      if (now_ms - last_ms > KEPT_MS) this.#seen.delete(key);
  }

  /** What to draw, from left to right so that a list of it stands still. */
  get seen(): Seen[] {
    return [...this.#seen.values()].sort((a, b) => centre(a.found).x - centre(b.found).x);
  }
}

export function centre({ corners }: FoundLabel): { x: number; y: number } {
  const sum = corners.reduce((sum, { x, y }) => ({ x: sum.x + x, y: sum.y + y }), { x: 0, y: 0 });
  const count = Math.max(corners.length, 1);
  return { x: sum.x / count, y: sum.y / count };
}

function isInAim(found: FoundLabel, width_px: number, height_px: number): boolean {
  const half = (Math.min(width_px, height_px) * AIM_SHARE) / 2;
  const { x, y } = centre(found);
  return Math.abs(x - width_px / 2) <= half && Math.abs(y - height_px / 2) <= half;
}
