import type { FoundLabel } from "../../api/generated";
import { centre } from "../../parts/live/aim";

/**
 * Puts the labels of a picture into rows, top to bottom, each from left to right.
 *
 * A label belongs to a row when it lies less than one and a half of its height from the one
 * beside it, so that a rail may run slightly askew.
 */
export function rowsOf(found: FoundLabel[]): FoundLabel[][] {
  const rows: FoundLabel[][] = [];
  for (const label of [...found].sort((a, b) => centre(a).x - centre(b).x)) {
    const near = rows
      .map((row) => ({ row, off: Math.abs(centre(row.at(-1)!).y - centre(label).y) }))
      .filter(({ off }) => off < 1.5 * height(label))
      .sort((a, b) => a.off - b.off)[0];
    if (near) near.row.push(label);
    else rows.push([label]);
  }
  return rows.sort((a, b) => centre(a[0]!).y - centre(b[0]!).y);
}

function height({ corners }: FoundLabel): number {
  const ys = corners.map(({ y }) => y);
  return Math.max(...ys) - Math.min(...ys);
}
