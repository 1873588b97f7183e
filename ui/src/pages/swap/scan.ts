import { plainLabel } from "../../parts/label_text";

/**
 * Whether a scan is the label that a step wants, as far as the device can tell by itself.
 *
 * The server judges every tick; this is for ticks that must wait without a connection, so that a
 * wrong unit is not stored for later. `slot` is the address that may be typed instead, at a step
 * that wants the slot.
 */
export function isWanted(scanned: string, wanted: string, slot: string | null): boolean {
  return (
    plainLabel(scanned) === plainLabel(wanted) ||
    (slot !== null && scanned.trim().toUpperCase() === slot.toUpperCase())
  );
}
