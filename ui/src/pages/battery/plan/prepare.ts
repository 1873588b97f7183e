import { lookAhead } from "../../../api/asking.svelte";
import type { PlannedVisit } from "../../../api/generated";

/** Gets what the screens of a visit's changes ask, one after the other. */
export async function prepare({ changes }: Pick<PlannedVisit, "changes">): Promise<void> {
  await lookAhead("battery.visits", {});
  await lookAhead("stock.shelf", {});
  for (const unit of new Set(changes.map(({ unit }) => unit)))
    await lookAhead("unit.card", { unit });
  for (const lot of new Set(changes.flatMap(({ lot }) => lot ?? [])))
    await lookAhead("stock.lot", { lot });
}
