import type { SpareTarget } from "../../../api/generated";
import { chance, number } from "../../../parts/format";
import { words } from "../../../words/spares_level";

/** `at least 99 %` or `at most 0.05 pieces`: what a target asks of its measure. */
export function targetSaid({ measure, value }: SpareTarget): string {
  if (measure === "no_stock_out" || measure === "fill_rate") return words.atLeast(chance(value));
  const amount = number(value, 4);
  return words.atMost(measure === "backorders" ? words.pieces(amount) : words.hoursYear(amount));
}
