/** Writes a time for a field `datetime-local`, in the time of this device. */
export function asField(text: string): string {
  const at = new Date(text);
  if (Number.isNaN(at.getTime())) return "";
  const local = new Date(at.getTime() - at.getTimezoneOffset() * 60_000);
  return local.toISOString().slice(0, 16);
}

/** Reads what such a field holds; nothing where it is empty or no time. */
export function ofField(text: string): string | null {
  const at = new Date(text);
  return text === "" || Number.isNaN(at.getTime()) ? null : at.toISOString();
}
