import type { AuditSlot } from "../../api/generated";
import type { IconName } from "../../parts/Icon.svelte";

/** A shape of its own for each finding, so that colour alone says nothing. */
export const iconOf: Record<AuditSlot["found"], IconName> = {
  present: "check",
  place_unsure: "read",
  empty: "unit",
  exchanged: "swap",
  strange: "cross",
  unreadable: "label",
  missing: "find",
  contradicted: "caution",
  not_covered: "more",
};
