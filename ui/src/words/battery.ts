import { CAUTIONS } from "../api/generated";
import { counted } from "./counted";

export const words = {
  title: "Batteries",
  byUrgency: "By urgency",
  plan: "Plan",
  powerOffs: "Power-offs",
  life: "Life",
  within: "Due within",
  all: "any time",
  withinDays: (days: number) =>
    days < 365 ? `${days} days` : `${days / 365} year${days > 365 ? "s" : ""}`,
  ofCabinet: (cabinet: string) => `of ${cabinet}`,
  allCabinets: "Show all cabinets",
  due: "Due",
  unknownDue: "not known",
  holdUp: "Memory holds",
  required: (hours: string) => `wanted: ${hours}`,
  sum: "How it was reckoned",
  none: "No batteries match.",
  change: "Change",
  takes: (cells: string, model: string) => `It takes ${cells} ${model}.`,
  facts: "Due day and charge",
  changeByScan: "Change by scanning",
  changeTitle: "Change a battery",
  cells: (count: number) => counted(count, "cell"),
  scanUnit: "Controller: scan its label",
  scanLot: "New battery: scan the label of its lot",
  scanAnother: "Another controller",
  otherLot: "Another lot",
  noBattery: "This unit has no back-up battery in the register. Scan a controller that has one.",
  savedAsk: "Save the program before anything is taken out",
  savedHint:
    "The memory is lost when battery and supply are both away. Save the program and check the copy.",
  saved: "It is saved and the copy is checked",
  savedNo: "It cannot be saved",
  savedNoHint:
    "If power fails now the program is lost. Ask whoever is in charge of the program before you go on.",
  savedFirst: "Say above whether the program is saved.",
  powered: "Was the controller powered while the battery was out?",
  poweredYes: "Yes, it was powered",
  poweredNo: "No, or not all the time",
  poweredHint:
    "Without power the memory lasts only as long as the capacitor holds. Check the program now.",
  found: "How was the old cell found?",
  foundMv: "Its voltage in mV, if measured",
  bin: "Taken from bin",
  binHint: "May be left empty where the lot lies in one bin.",
  record: "Record the change",
  next: "Change another battery",
  nextOfVisit: (count: number) =>
    counted(count, "more battery of this day", "more batteries of this day"),
  visitDone: "That was the last battery of this day.",
  lotStop: "Stop: do not fit this lot",
  expired: "It is past its shelf date.",
  quarantined: "It is in quarantine.",
  wrongModel: (lot: string, wanted: string) => `It is ${lot}, the controller takes ${wanted}.`,
  tooFew: (pieces: number, wanted: number) =>
    `It has ${pieces} left, the controller takes ${wanted}.`,
  lotStopDo: (code: string) =>
    `Leave the old battery in. Put lot ${code} aside and tell the stores clerk.`,
  takeInstead: "Take one of these",
  noneInstead: (model: string) =>
    `No lot of ${model} that may be fitted is on the shelf: order it.`,
  scanOtherLot: "Scan another lot",
  oldCells:
    "Old cell: insulate its terminals, keep it apart. It is dangerous goods in transport and special waste.",
  rangeSaid: (early: string, middle: string, late: string) =>
    `Likely range: 1 in 10 no longer holds by ${early}, half by ${middle}, 9 in 10 by ${late}.`,
  figures: "How each figure was reckoned",
  changeWith: {
    powered: "To be changed with the controller powered.",
    unpowered: "To be changed while the cabinet is without power.",
  } as Record<string, string>,
  seenAt: (when: string) => `Seen ${when}:`,
  lampLit: "lamp for a low battery lit",
  lampDark: "lamp for a low battery not lit",
  seen: "Lamp or voltage seen",
  seenLead: "For a battery that stays in. What you see tells how long such batteries last.",
  lamp: "Is the lamp for a low battery lit?",
  lampYes: "Yes, it is lit",
  lampNo: "No",
  seenMv: "Voltage in mV, if measured",
  seenDo: "Record",
};

export const urgencies: Record<string, string> = {
  overdue: "Overdue",
  soon: "Soon",
  later: "Later",
  unknown: "A figure is missing",
};

export const founds: Record<string, string> = {
  good: "good",
  weak: "weak",
  spent: "spent",
  not_judged: "not judged",
};

/** Every battery procedure opens with these. */
export const cautions = [
  ...CAUTIONS,
  "Save the program first. Change the battery with the controller powered, or within the ride-through of its capacitor.",
];
