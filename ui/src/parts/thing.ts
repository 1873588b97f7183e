import type { FoundLabel, Thing } from "../api/generated";
import { to } from "./route.svelte";

const PAGES: Record<string, string> = {
  unit: "unit",
  slot: "slot",
  cabinet: "cabinet",
  bin: "bin",
  lot: "lot",
};

/** The card of a thing, where it is one that has a card. */
export function cardOf(thing: Thing): string | null {
  const page = PAGES[thing.kind];
  const key = thing.key ?? thing.label;
  return page && key ? to(page, key) : null;
}

/** The shortest name of a thing: an address, or model and serial number. */
export function nameOf(thing: Thing): string {
  if (cardOf(thing) === null) return thing.label_human ?? thing.text;
  const [first = ""] = thing.message.split(",", 1);
  return first.replace(/^(unit|slot|cabinet|bin|lot) /, "") || (thing.label_human ?? thing.text);
}

/** How far a label was read, as screens show it. */
export type ReadState = "read" | "confirm" | "scrapped" | "unknown" | "foreign" | "damaged";

export function stateOf(found: FoundLabel): ReadState {
  const { thing } = found;
  if (thing.kind === "unknown" || thing.kind === "foreign" || thing.kind === "damaged")
    return thing.kind;
  if (isToConfirm(found)) return "confirm";
  return thing.scrapped ? "scrapped" : "read";
}

/** Whether it was recognised by the register rather than decoded, so that a person must agree. */
export function isToConfirm(found: FoundLabel): boolean {
  return found.confirm;
}
