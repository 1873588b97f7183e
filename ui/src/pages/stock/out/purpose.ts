import type { SwapCard, VisitLine, VisitRef } from "../../../api/generated";
import { date } from "../../../parts/format";
import { words } from "../../../words/stock_out";

/** What pieces are handed out or kept for. */
export interface Purpose {
  kind: "swap" | "slot" | "visit" | "other" | null;
  /** Id of a swap under way. */
  swap: string;
  /** Address of the slot whose next swap it is for. */
  slot: string;
  /** Day and cabinet of the visit, as in [`visitKey`]. */
  visit: string;
  /** A person, or work of another kind. */
  text: string;
}

/** What a form has said of a purpose. */
export interface Stated extends PurposeInput {
  /** In a few words; empty while it is not said. */
  words: string;
}

export const NOT_SAID: Stated = { words: "", swap: null, slot: null, visit: null };

export const NO_PURPOSE: Purpose = { kind: null, swap: "", slot: "", visit: "", text: "" };

export const visitKey = ({ on, cabinet }: Pick<VisitLine, "on" | "cabinet">): string =>
  `${on} ${cabinet}`;

/** The purpose in a few words; empty while it is not said. */
export function saidOf(
  { kind, swap, slot, visit, text }: Purpose,
  swaps: Pick<SwapCard, "swap" | "slot">[],
): string {
  if (kind === "swap") {
    const card = swaps.find((card) => card.swap === swap);
    return card ? words.swapIn(card.slot) : "";
  }
  if (kind === "slot") return slot.trim() ? words.swapIn(slot.trim()) : "";
  if (kind === "visit") {
    const [on = "", cabinet = ""] = visit.split(" ");
    return cabinet ? words.visitOf(cabinet, date(on)) : "";
  }
  return kind === "other" ? text.trim() : "";
}

/** A purpose as records hold it; words name what is no swap, slot or agreed visit. */
export interface PurposeInput {
  swap: string | null;
  slot: string | null;
  visit: VisitRef | null;
}

export function purposeInput(
  { kind, swap, slot, visit }: Purpose,
  visits: Pick<VisitLine, "on" | "cabinet" | "agreed">[],
): PurposeInput {
  const agreed = visits.find((line) => line.agreed && visitKey(line) === visit);
  return {
    swap: kind === "swap" ? swap : null,
    slot: kind === "slot" ? slot : null,
    visit: kind === "visit" && agreed ? { on: agreed.on, scope: agreed.cabinet } : null,
  };
}
