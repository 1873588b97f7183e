/** The last number of pieces worth a bar: beyond it less than one in 10,000 is left. */
export function shownUntil(chances: number[], level: number | null, rest = 1e-4): number {
  let left = 1;
  const end = chances.findIndex((chance) => (left -= chance) < rest);
  const last = end < 0 ? chances.length - 1 : end;
  return Math.min(Math.max(last, (level ?? 0) + 1, 3), Math.max(3, chances.length - 1), 80);
}

/** The smallest number of pieces that is not exceeded with so much chance. */
export function quantile(chances: number[], share: number): number {
  let below = 0;
  const found = chances.findIndex((chance) => (below += chance) >= share - 1e-12);
  return found < 0 ? Math.max(0, chances.length - 1) : found;
}
