import type { PlannedChange } from "../../../api/generated";

/** Cells of one type to take along: from a lot, or ordered by a day. */
export interface Take {
  battery_model: string;
  cells: number;
  lot_code: string | null;
  lot: string | null;
  order_by: string | null;
}

type Change = Pick<PlannedChange, "battery_model" | "cells" | "lot" | "lot_code" | "order_by">;

/** What a visit takes along, each lot once. */
export function takesOf(changes: Change[]): Take[] {
  const takes = new Map<string, Take>();
  for (const { battery_model, cells, ...change } of changes) {
    const [lot, order_by] = [change.lot ?? null, change.order_by ?? null];
    const key = `${battery_model} ${lot ?? order_by ?? ""}`;
    const take = takes.get(key);
    if (take) take.cells += cells;
    else takes.set(key, { battery_model, cells, lot, lot_code: change.lot_code ?? null, order_by });
  }
  return [...takes.values()];
}
