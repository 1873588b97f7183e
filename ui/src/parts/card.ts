import type { SlotLine } from "../api/generated";
import { to } from "./route.svelte";

/** What a slot opens: the unit that stands in it, or the slot itself where it is empty. */
export function cardOfSlot(slot: SlotLine): string {
  return slot.unit ? to("unit", slot.unit.label) : to("slot", slot.address);
}
