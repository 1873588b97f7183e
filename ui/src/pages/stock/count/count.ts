import type { Thing } from "../../../api/generated";
import { kindOfLabel, plainLabel } from "../../../parts/label_text";
import { nameOf } from "../../../parts/thing";

/** A unit or lot that was scanned on a shelf. */
export interface Seen {
  label: string;
  label_human: string;
  /** What it is, in a few words; empty where nobody could be asked. */
  title: string;
}

export interface SeenLot extends Seen {
  /** Nobody has said yet where it is null. */
  pieces: number | null;
}

/** A count of one shelf under way; what was scanned last stands first. */
export interface Count {
  bin: string;
  begun_at: string;
  lots: SeenLot[];
  units: Seen[];
  note: string;
}

/** Counts under way on this device, by bin. */
export type Counts = Record<string, Count>;

export function begin(bin: string, begun_at: string): Count {
  return { bin, begun_at, lots: [], units: [], note: "" };
}

/** How many things were scanned. */
export const seenOf = ({ lots, units }: Count): number => lots.length + units.length;

/** What a scan stands for where nobody can be asked: the label tells its own kind. */
export function unasked(text: string): Thing | null {
  const kind = kindOfLabel(text);
  if (!kind) return null;
  const label = plainLabel(text);
  return { kind, text, label, label_human: label, key: label, scrapped: false, message: "" };
}

/** Adds a unit or a lot to a count; says so where it is there already or is neither. */
export function add(count: Count, thing: Thing): "added" | "again" | "neither" {
  const { label, kind } = thing;
  if (!label || (kind !== "unit" && kind !== "lot")) return "neither";
  if ([...count.units, ...count.lots].some((seen) => seen.label === label)) return "again";
  const seen: Seen = {
    label,
    label_human: thing.label_human ?? label,
    title: thing.message ? nameOf(thing) : "",
  };
  if (kind === "unit") count.units.unshift(seen);
  else count.lots.unshift({ ...seen, pieces: null });
  return "added";
}

export function takeOff(count: Count, label: string): void {
  count.units = count.units.filter((seen) => seen.label !== label);
  count.lots = count.lots.filter((seen) => seen.label !== label);
}

/** The first lot of which nobody has said how many pieces lie there. */
export const unsaid = (count: Count): SeenLot | undefined =>
  count.lots.find(({ pieces }) => pieces === null);
