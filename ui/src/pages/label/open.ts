import type { Thing } from "../../api/generated";
import { to } from "../../parts/route.svelte";

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
