import type { AuditSettlement, AuditSlot, AuditWay } from "../api/generated";
import { counted } from "./counted";

export const words = {
  open: "Audit by photo",
  title: (rail: string) => `Audit of rail ${rail}`,
  toCabinet: "Cabinet",
  lastAudited: (when: string, who: string) => `Audited ${when} by ${who}`,
  neverAudited: "Never audited",
  stillOpen: (count: number) => `${count} open`,
  before: "Before you open a cabinet to take photos",
  lead: "Take one photo of the whole rail, or several that overlap. Every label must be sharp; nothing is pulled or touched for it.",
  take: "Take a photo",
  choose: "Choose photos",
  another: "Another photo",
  keep: "Keep the photos with the history",
  keepHint: "Kept once, made smaller, without position and the like.",
  reading: "Reading the photo",
  photos: "Photos",
  photo: (number: number) => `Photo ${number}`,
  labels: (count: number) => counted(count, "symbol found", "symbols found"),
  kept: "kept",
  notKept: "not kept",
  takeOff: "Take this photo off",
  twice: "This photo is in the list already.",
  record: "Record this audit",
  recordHint: "Then each slot that differs can be settled with a tap.",
  drop: "Throw these photos away",
  waits:
    "The audit waits on this device until there is a connection; its slots can be settled then.",
  again: "Take new photos",
  slots: "Slots",
  row: "What was seen, slot by slot",
  loose: "Seen on the rail, slot not certain",
  looseHint: "Take a closer photo with its neighbours in it.",
  settledBy: (who: string, when: string) => `${who}, ${when}`,
  waitsToBeSent: "Waits on this device to be sent.",
  reprint: "Print its label",
  refusedNow: "Not possible now:",
  showPhoto: "Show the photo",
  photoOf: "The photo that shows this slot",
  kept_photo: (number: number) => `Kept photo ${number}`,
  whichUnit: "Which unit stands there?",
  whichUnitHint: "Scan its label, or type the line beside it.",
  why: "Note",
  doIt: "Record",
  notNow: "Not now",
  isIt: (unit: string) => `Look into the slot: does ${unit} stand there? The photo cannot tell.`,
  toSwap: "To move a module, use the swap and its steps",
  toUnit: "Unit",
  openSwap: "A swap is under way here.",
  goOn: "Go on with it",
  notLooked: "Settle it without a photo",
  allSettled: "Everything that differed is settled.",
  agrees: "Every slot that was looked at is as registered.",
  nothing: "The photos show no slot of this rail for certain. Go closer, and take in more labels.",
  openNow: (count: number) => counted(count, "slot is open", "slots are open"),
  notCovered: (count: number) =>
    counted(count, "slot was not looked at", "slots were not looked at"),
};

/** What the photos show of a slot. */
export const found: Record<AuditSlot["found"], string> = {
  present: "as registered",
  place_unsure: "place not certain",
  empty: "empty",
  exchanged: "exchanged",
  strange: "another unit",
  unreadable: "label unreadable",
  missing: "no label there",
  contradicted: "photos disagree",
  not_covered: "not looked at",
};

/** What a tap records. */
export function way({ how, asks_unit }: AuditWay, slot: AuditSlot): string {
  if (asks_unit) return ways.another;
  if (how === "stands") return reprints(slot) ? ways.stands_reprint : ways.stands;
  return ways[how];
}

/** A label that was not read is printed again where its unit stands all the same. */
export function reprints({ found }: AuditSlot): boolean {
  return found === "unreadable" || found === "missing";
}

const ways = {
  stands: "It stands there as registered",
  stands_reprint: "It stands there; print its label again",
  exchanged: "They are exchanged: the register follows",
  not_there: "It is not there",
  stands_here: "This unit stands there",
  another: "Another unit stands there",
  taken_out: "It was taken out already",
  left_open: "Leave it open",
};

/** How a slot was settled. */
export const settled: Record<AuditSettlement, string> = {
  stands: "stands there as registered",
  exchanged: "exchanged, the register follows",
  not_there: "not there, lost until it is found",
  stands_here: "another unit stands there, the register follows",
  taken_out: "what did not belong was taken out",
  left_open: "left open",
};
