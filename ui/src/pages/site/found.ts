import type { Found } from "../../api/generated";
import { to } from "../../parts/route.svelte";

const PAGES: Record<string, string> = {
  unit: "unit",
  slot: "slot",
  cabinet: "cabinet",
  model: "model",
  bin: "bin",
  lot: "lot",
  // A loop is found by its tag and opens the slot that it is wired to.
  loop: "slot",
};

/** Where a thing that search found is shown. */
export function addressOf(thing: Found): string {
  return to(PAGES[thing.kind] ?? "open", thing.key);
}
