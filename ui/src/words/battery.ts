export const words = {
  title: "Batteries",
  byUrgency: "By urgency",
  byVisit: "Visits",
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
  calendar: "Calendar",
  workList: "Work list (PDF)",
  change: "Change",
  changeTitle: "Change a battery",
  window: "One visit takes all due within",
  windowDays: (days: number) => `${days} days`,
  windowSite: "the site's setting",
  noVisits: "No change is due in the time looked at.",
  take: "Take along",
  cells: (count: number) => (count === 1 ? "1 cell" : `${count} cells`),
  scanUnit: "Controller: scan its label",
  scanLot: "New battery: scan the label of its lot",
  scanAnother: "Another controller",
  otherLot: "Another lot",
  noBattery: "This unit has no back-up battery in the register. Scan a controller that has one.",
  saved: "The program was saved before",
  savedHint: "Save it first: the memory is lost when battery and supply are both away.",
  savedNo: "The program was not saved",
  powered: "Was the controller powered while the battery was out?",
  poweredYes: "Yes, it was powered",
  poweredNo: "No, or not all the time",
  poweredHint:
    "Without power the memory lasts only as long as the capacitor holds. Check the program now.",
  found: "How the old cell was found",
  foundMv: "Its voltage, mV",
  bin: "Taken from bin",
  binHint: "May be left empty where the lot lies in one bin.",
  record: "Record the change",
  next: "Change the next battery",
  expired: "This lot is past its shelf date. Use another.",
  quarantined: "This lot is in quarantine. Use another.",
  wrongModel: (lot: string, wanted: string) =>
    `This lot is ${lot}, the controller takes ${wanted}. Use another.`,
  oldCells:
    "Old cell: insulate its terminals, keep it apart. It is dangerous goods in transport and special waste.",
  powerOff: "Record a power-off",
  powerOffLead: "Stretches without power drain the batteries; the due days follow them.",
  scope: "Of what: site, an area code or a cabinet address",
  from: "From",
  to: "To",
  reason: "Reason",
  powerOffDo: "Record",
};

export const urgencies: Record<string, string> = {
  overdue: "Overdue",
  soon: "Soon",
  later: "Later",
  unknown: "A figure is missing",
};

export const founds: Record<string, string> = {
  not_judged: "not judged",
  good: "good",
  weak: "weak",
  spent: "spent",
};

/** Every battery procedure opens with these. */
export const cautions = [
  "Permit and isolation: by the rules of your site, before you open the cabinet.",
  "Running loops: clear every effect with operations before you touch the unit.",
  "Electrostatic discharge: wear the wrist strap.",
  "Hazardous areas: only authorised, competent people work here.",
  "Lithium cells: no short circuit, no heat, no recharging.",
  "Save the program first. Change the battery with the controller powered, or within the ride-through of its capacitor.",
  "This program does not replace local codes, the maker's instructions or licensed practice.",
];
