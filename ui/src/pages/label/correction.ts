import type { Correction as Given } from "../../api/generated";

/** Offset and scale, every figure stated. */
export type Correction = Required<Given>;

const KEY = "slotkeep.printer";

/** A printer that puts everything where it is meant. */
export const NONE: Correction = { offset_x_mm: 0, offset_y_mm: 0, scale_x: 1, scale_y: 1 };

export function isNone(correction: Correction): boolean {
  const { offset_x_mm, offset_y_mm, scale_x, scale_y } = correction;
  return offset_x_mm === 0 && offset_y_mm === 0 && scale_x === 1 && scale_y === 1;
}

/**
 * The correction used last on this device, for its printer.
 *
 * It is a convenience: where the browser keeps nothing, the figures are typed in again.
 */
export function keptCorrection(): Correction {
  try {
    const kept: unknown = JSON.parse(globalThis.localStorage.getItem(KEY) ?? "null");
    if (typeof kept !== "object" || kept === null) return NONE;
    const number = (field: keyof Correction) => {
      const value: unknown = (kept as Record<string, unknown>)[field];
      return typeof value === "number" && Number.isFinite(value) ? value : NONE[field];
    };
    return {
      offset_x_mm: number("offset_x_mm"),
      offset_y_mm: number("offset_y_mm"),
      scale_x: number("scale_x"),
      scale_y: number("scale_y"),
    };
  } catch {
    return NONE;
  }
}

export function keepCorrection(correction: Correction): void {
  try {
    if (isNone(correction)) globalThis.localStorage.removeItem(KEY);
    else globalThis.localStorage.setItem(KEY, JSON.stringify(correction));
  } catch {
    // Without room to keep it the correction still holds until the page is left.
  }
}
