import type { AuditPhoto, AuditSlot, PhotoReading } from "../../api/generated";

/** Photos that were read and not recorded yet. */
export interface Work {
  begun_at: string;
  keep: boolean;
  photos: AuditPhoto[];
  /** It is recorded, and waits in the outbox. */
  waits?: boolean;
}

/** Work by rail. */
export type Works = Record<string, Work>;

export function begin(now: string): Work {
  return { begun_at: now, keep: true, photos: [] };
}

/** A reading as an audit takes it. */
export function seenIn(reading: PhotoReading, photo: string | null): AuditPhoto {
  return {
    photo,
    width_px: reading.width_px,
    height_px: reading.height_px,
    labels: reading.found.map(({ thing, confirm, corners }) => ({
      text: thing.label ?? thing.text,
      confirm,
      corners,
    })),
    rails: reading.rails.map(({ order }) => order),
  };
}

/** Names of kept photos that no other work of this device, and no record that waits, will name. */
export function unwanted(
  photos: AuditPhoto[],
  works: Work[],
  waiting: { input: Record<string, unknown> }[],
): string[] {
  const wanted = JSON.stringify([works, waiting]);
  return photos.flatMap(({ photo }) => (photo && !wanted.includes(photo) ? [photo] : []));
}

/** Whether two photos show the very same: then one is no second witness of the other. */
export function isSame(a: AuditPhoto, b: AuditPhoto): boolean {
  return JSON.stringify(a.labels) === JSON.stringify(b.labels);
}

/** The slots of units that were exchanged with each other, that of `slot` first. */
export function ringOf(slot: AuditSlot, slots: AuditSlot[]): string[] {
  const ring = [slot.slot];
  for (let next = slot.with; next && !ring.includes(next);) {
    ring.push(next);
    next = slots.find((one) => one.slot === next)?.with ?? null;
  }
  return ring;
}
