/** Where a name stands beside its label on the picture, px of the screen. */
export interface Placed {
  x: number;
  y: number;
}

export interface Box {
  /** Middle of the label. */
  x: number;
  top: number;
  bottom: number;
}

export const TAG = { width: 104, height: 46, gap: 4 } as const;

/**
 * Places names beside their labels so that none covers a label or another name.
 *
 * A name stands below its label, else above it, else further off. Where nothing is free any more
 * it stands below, over others.
 */
export function placeTags(boxes: Box[], width: number, height: number): Placed[] {
  const placed: Placed[] = [];
  for (const box of boxes) {
    const x = Math.min(Math.max(box.x, TAG.width / 2), Math.max(width - TAG.width / 2, 0));
    const step = TAG.height + TAG.gap;
    const below = (lane: number) => box.bottom + TAG.gap + TAG.height / 2 + lane * step;
    const above = (lane: number) => box.top - TAG.gap - TAG.height / 2 - lane * step;
    const lanes = [0, 1, 2, 3, 4].flatMap((lane) => [below(lane), above(lane)]);
    const free = lanes.find((y) => fits(y, height) && !placed.some((tag) => meet(tag, { x, y })));
    placed.push({ x, y: free ?? Math.min(below(0), height - TAG.height / 2) });
  }
  return placed;
}

function fits(y: number, height: number): boolean {
  return y >= TAG.height / 2 && y <= height - TAG.height / 2;
}

function meet(a: Placed, b: Placed): boolean {
  return Math.abs(a.x - b.x) < TAG.width + TAG.gap && Math.abs(a.y - b.y) < TAG.height + TAG.gap;
}
