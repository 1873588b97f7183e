import { WedgeEar } from "./wedge";

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
  let before: { field: HTMLInputElement | HTMLTextAreaElement; text: string } | null = null;
  let last_ms = Number.NEGATIVE_INFINITY;
  const hear = (event: KeyboardEvent) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return ear.forget();
    if (event.timeStamp - last_ms > 50) before = fieldOf(event.target);
    last_ms = event.timeStamp;
    const text = ear.hear(event.key, event.timeStamp);
    if (text === null) return;
    event.preventDefault();
    event.stopPropagation();
    if (before) {
      before.field.value = before.text;
      before.field.dispatchEvent(new Event("input", { bubbles: true }));
    }
    giveScan(text);
  };
  page.addEventListener("keydown", hear, true);
  return () => page.removeEventListener("keydown", hear, true);
}

function fieldOf(target: EventTarget | null) {
  if (target instanceof HTMLTextAreaElement || target instanceof HTMLInputElement)
    return { field: target, text: target.value };
  return null;
}
