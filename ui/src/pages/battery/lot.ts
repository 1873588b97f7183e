import type { BatteryLine, LotLine } from "../../api/generated";
import { words } from "../../words/battery";

/** What a lot must show to be fitted. */
type Lot = Pick<LotLine, "quarantined" | "expired" | "model" | "pieces">;
type Wanted = Pick<BatteryLine, "battery_model" | "cells">;

/** Why a lot must not go into a controller; nothing where it may. */
export function whyNotThisLot(lot: Lot, battery: Wanted): string {
  if (lot.model !== battery.battery_model)
    return words.wrongModel(lot.model, battery.battery_model);
  if (lot.quarantined) return words.quarantined;
  if (lot.expired) return words.expired;
  if (lot.pieces < battery.cells) return words.tooFew(lot.pieces, battery.cells);
  return "";
}

/** The lots that may be fitted, those that expire first before the others. */
export function lotsThatMayBeFitted<L extends Lot & Pick<LotLine, "shelf_until">>(
  lots: L[],
  battery: Wanted,
): L[] {
  const until = (lot: L) => lot.shelf_until ?? "9999";
  return lots
    .filter((lot) => whyNotThisLot(lot, battery) === "")
    .sort((a, b) => until(a).localeCompare(until(b)));
}
