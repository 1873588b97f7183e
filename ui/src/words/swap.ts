export const words = {
  title: "Swaps",
  open: "Under way",
  noneOpen: "No swap is under way.",
  begin: "Begin a swap",
  newTitle: (slot: string) => `Swap at ${slot}`,
  scanSlot: "Slot: scan its label",
  scanSlotHint: "Or type its address, for example +K12.2.07.",
  scanSpare: "Spare: scan its label",
  scanSpareHint: "Scan the unit in your hand, or choose one from the list below.",
  candidates: "Spares in the register",
  all: "Show also those that do not fit",
  noCandidates:
    "No spare lies on a shelf that may go into this slot. Look also at those that do not fit.",
  chooseOther: "Another spare",
  outgoing: "Comes out",
  incoming: "Goes in",
  nothing: "Nothing: the slot is empty",
  fits: "It may go in",
  stop: "Stop",
  stopTaken: "Stop, unless a named person takes it on",
  findings: "Every reason",
  inOrder: (count: number) =>
    count === 1 ? "1 comparison in order" : `${count} comparisons in order`,
  unknown: "Not known:",
  doThis: "Do this:",
  loops: "Loops affected",
  steps: "Steps",
  stepsLater: "The steps, to be ticked once the swap has begun",
  start: "Begin the swap",
  stillOpen: (count: number) =>
    count === 1
      ? "It can begin once the stop is put right or taken on by name."
      : `It can begin once all ${count} stops are put right or taken on by name.`,
  sheet: "Sheet (PDF)",
  override: "Take it on",
  overrideLead:
    "Somebody who may decide this by the rules of your site takes it on by name. It is recorded.",
  overridePerson: "Name",
  overrideReason: "Reason",
  taken: (person: string, reason: string) => `Taken on by ${person}: ${reason}`,
  barred: "Nobody can override this. Use another spare.",
  step: (number: number, of: number) => `Step ${number} of ${of}`,
  scanDemand: { slot: "Scan the label of the slot", unit: "Scan the label of the unit" } as Record<
    string,
    string
  >,
  wanted: "Wanted:",
  tick: "Done",
  check: "Check",
  ticked: (when: string, who: string) => `${when}, ${who}`,
  wrongScan: (scanned: string, wanted: string) =>
    `Stop: ${scanned} is not ${wanted}. Put it back and fetch the right one, or go to the right place.`,
  waits: "Ticked here, waiting to be sent",
  finishTitle: "Finish",
  finish: "Finish the swap",
  finished: "The swap is finished.",
  abandoned: "The swap was given up.",
  leftAs: "The plant was left so:",
  abandon: "Give the swap up",
  abandonLead: "Say what is in the slot, what is isolated and which loops are in manual.",
  abandonField: "How the plant is left",
  abandonDo: "Give it up",
  startedBy: (when: string, who: string) => `Begun ${when} by ${who}`,
  toSlot: "Open the slot",
};

export const severities: Record<string, string> = {
  pass: "In order",
  note: "Note",
  caution: "Caution",
  stop: "Stop",
};
