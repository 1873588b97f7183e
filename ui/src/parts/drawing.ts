import type { CabinetDrawing, ItemDrawing, RailDrawing } from "../api/generated";

/** Height of what stands on a rail, mm: drawn alike for all, as the register has no heights. */
export const ITEM_HEIGHT_MM = 110;
const RAIL_HEIGHT_MM = 35;
const MARGIN_MM = 24;

/** A rectangle in mm, from the top left of the cabinet. */
export interface Box {
  x_mm: number;
  y_mm: number;
  width_mm: number;
  height_mm: number;
}

export interface PlacedItem {
  item: ItemDrawing;
  box: Box;
}

export interface PlacedRail {
  rail: RailDrawing;
  /** The rail itself, TH 35: 35 mm high (IEC 60715). */
  bar: Box;
  items: PlacedItem[];
}

/** A cabinet with the place of everything in it. */
export interface Placed {
  frame: Box;
  rails: PlacedRail[];
}

/** Places rails and items in the cabinet, each rail centred in its width. */
export function place(cabinet: CabinetDrawing): Placed {
  const rails = cabinet.rails.map((rail) => placeRail(rail, cabinet.width_mm));
  const lowest = Math.max(0, ...rails.map(({ bar }) => bar.y_mm + ITEM_HEIGHT_MM));
  const widest = Math.max(0, ...rails.map(({ bar }) => bar.width_mm));
  return {
    frame: {
      x_mm: Math.min(0, (cabinet.width_mm - widest) / 2 - MARGIN_MM),
      y_mm: 0,
      width_mm: Math.max(cabinet.width_mm, widest + 2 * MARGIN_MM),
      height_mm: Math.max(cabinet.height_mm, lowest),
    },
    rails,
  };
}

/** Places one rail by itself, from its left end, for the enlarged strip. */
export function placeRail(rail: RailDrawing, cabinet_width_mm = rail.length_mm): PlacedRail {
  const left_mm = (cabinet_width_mm - rail.length_mm) / 2;
  const y_mm = rail.y_mm;
  return {
    rail,
    bar: {
      x_mm: left_mm,
      y_mm: y_mm - RAIL_HEIGHT_MM / 2,
      width_mm: rail.length_mm,
      height_mm: RAIL_HEIGHT_MM,
    },
    items: rail.items.map((item) => ({
      item,
      box: {
        x_mm: left_mm + item.x_mm,
        y_mm: y_mm - ITEM_HEIGHT_MM / 2,
        width_mm: item.width_mm,
        height_mm: ITEM_HEIGHT_MM,
      },
    })),
  };
}

export function viewBox({ x_mm, y_mm, width_mm, height_mm }: Box, around_mm = 0): string {
  return [x_mm - around_mm, y_mm - around_mm, width_mm + 2 * around_mm, height_mm + 2 * around_mm]
    .map((side) => Math.round(side * 10) / 10)
    .join(" ");
}

/** The shape that tells a state apart without its colour. */
export type Mark = "plain" | "hollow" | "query" | "cross" | "bars" | "other";

const MARKS: Record<string, Mark> = {
  empty: "hollow",
  good: "plain",
  suspect: "query",
  failed: "cross",
  quarantined: "bars",
  other_model: "other",
};

export function markOf(state: string): Mark {
  return MARKS[state] ?? "query";
}

/**
 * The angle of a rotary key with eight positions, degrees clockwise from upright: A stands up.
 *
 * Nothing for any other letter, so that no two letters ever look alike. How makers turn their
 * keys differs: the drawing helps to compare, the letter beside it counts. Common practice, no
 * source.
 */
export function keyAngle_deg(letter: string): number | null {
  const step = "ABCDEFGH".indexOf(letter.toUpperCase());
  return step < 0 || letter.length !== 1 ? null : step * 45;
}
