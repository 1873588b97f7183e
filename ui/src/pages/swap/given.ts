import type { StepLine } from "../../api/generated";
import { Failure } from "../../api/failure";
import { words } from "../../words/swap";
import { isWanted } from "./scan";

/** What was given at a step, beside the tick itself. */
export interface Given {
  scanned?: string | null;
  reading?: number | null;
  /** The photo in Base64. */
  photo_data?: string | null;
  second?: string | null;
}

/**
 * Throws what is known to be wrong with a tick, as far as the device can tell by itself: a wrong
 * unit or a bad reading is not to be stored for later.
 *
 * `slot` is the address that may be typed instead of the label, at a step that wants the slot.
 */
export function holdBack(step: StepLine, given: Given, slot: string | null): void {
  const { scan_label, reading } = step;
  const scanned = given.scanned ?? "";
  if (scan_label && !isWanted(scanned, scan_label, slot))
    throw new Failure("refused", words.wrongScan(scanned, scan_label));
  const read = given.reading;
  if (reading && (read == null || !(read >= reading.low && read <= reading.high)))
    throw new Failure("refused", words.badReading(String(read ?? ""), reading));
}

/** Longer side of a photo that is sent, px: an outbox on a phone holds about ten of them. */
const SENT_PX = 1600;

/** Makes a photo small enough to wait on a phone; what the browser cannot open goes as it is. */
export async function photoData(file: File): Promise<string> {
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = Math.min(1, SENT_PX / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(picture.width * scale));
    canvas.height = Math.max(1, Math.round(picture.height * scale));
    canvas.getContext("2d")?.drawImage(picture, 0, 0, canvas.width, canvas.height);
    return base64Of(canvas.toDataURL("image/jpeg", 0.8));
  } catch {
    return base64Of(await dataUrl(file));
  }
}

function dataUrl(file: File): Promise<string> {
  return new Promise((done, failed) => {
    const reader = new FileReader();
    reader.onload = () => done(String(reader.result));
    reader.onerror = () => failed(new Failure("refused", words.photoUnread));
    reader.readAsDataURL(file);
  });
}

function base64Of(url: string): string {
  return url.slice(url.indexOf(",") + 1);
}
