import { GAP_MS, SEPARATOR, SILENCE_MS, WedgeEar } from "./wedge";

type Taker = (text: string) => void;

/** Whoever came last takes the scans: a dialog before the page below it. */
const takers: Taker[] = [];

/** Takes every scan until the returned function is called. */
export function takeScans(take: Taker): () => void {
  takers.push(take);
  return () => {
    const at = takers.lastIndexOf(take);
    if (at >= 0) takers.splice(at, 1);
  };
}

/** Hands a scan, from wherever it came, to the screen that waits for one. */
export function giveScan(text: string): void {
  takers.at(-1)?.(text);
}

/**
 * Hears a wedge scanner anywhere on the page.
 *
 * Where a field has the focus the scanner types into it as well; the field gets its earlier
 * text back, so a scan never ends up in a remark.
 */
export function hearWedge(page: Document): () => void {
  const ear = new WedgeEar();
  let before: Before | null = null;
  let last_ms = Number.NEGATIVE_INFINITY;
  let timer: ReturnType<typeof setTimeout> | undefined;
  const give = (text: string) => {
    if (before) restore(before);
    before = null;
    giveScan(text);
  };
  const hear = (event: KeyboardEvent) => {
    clearTimeout(timer);
    if (event.isComposing) return ear.forget();
    const separator = event.ctrlKey && event.key === "]";
    if ((event.ctrlKey || event.altKey || event.metaKey) && !separator) return ear.forget();
    if (event.timeStamp - last_ms > GAP_MS) before = fieldOf(event.target);
    last_ms = event.timeStamp;
    const text = ear.hear(separator ? SEPARATOR : event.key, event.timeStamp);
    if (separator) event.preventDefault();
    if (text === null) {
      const heard_ms = event.timeStamp;
      timer = setTimeout(() => {
        const unended = ear.silence(heard_ms + SILENCE_MS);
        if (unended !== null) give(unended);
      }, SILENCE_MS);
      return;
    }
    event.preventDefault();
    event.stopPropagation();
    give(text);
  };
  page.addEventListener("keydown", hear, true);
  return () => {
    clearTimeout(timer);
    page.removeEventListener("keydown", hear, true);
  };
}

interface Before {
  field: HTMLInputElement | HTMLTextAreaElement | HTMLSelectElement;
  value: string;
}

function fieldOf(target: EventTarget | null): Before | null {
  const is =
    target instanceof HTMLTextAreaElement ||
    target instanceof HTMLInputElement ||
    // Letters choose in a list.
    target instanceof HTMLSelectElement;
  return is && !isTick(target) ? { field: target, value: target.value } : null;
}

function isTick(field: HTMLElement): boolean {
  return field instanceof HTMLInputElement && /^(checkbox|radio|file)$/.test(field.type);
}

function restore({ field, value }: Before): void {
  if (field.value === value) return;
  field.value = value;
  field.dispatchEvent(new Event("input", { bubbles: true }));
  if (field instanceof HTMLSelectElement)
    field.dispatchEvent(new Event("change", { bubbles: true }));
}
