/**
 * Whether a scan is the label that a step wants, as far as the device can tell by itself.
 *
 * The server judges every tick; this is for ticks that must wait without a connection, so that a
 * wrong unit is not stored for later. Reads a label as the server does: the end of a link,
 * without spaces and dashes, letters that look like digits taken for digits. `slot` is the address
 * that may be typed instead, at a step that wants the slot.
 */
export function isWanted(scanned: string, wanted: string, slot: string | null): boolean {
  const text = scanned.trim();
  return (
    plain(text) === plain(wanted) || (slot !== null && text.toUpperCase() === slot.toUpperCase())
  );
}

function plain(text: string): string {
  const end = text.slice(text.lastIndexOf("/") + 1);
  return end.toUpperCase().replace(/[\s-]/g, "").replace(/O/g, "0").replace(/[IL]/g, "1");
}
