/** Writes minutes as people say them. */
function duration(minutes: number): string {
  const whole = Math.max(1, Math.round(minutes));
  return whole < 100 ? `${whole} min` : `${Math.floor(whole / 60)} h ${whole % 60} min`;
}

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
  loops: "Loops affected",
  steps: "Steps",
  stepsLater: "The steps, to be ticked once the swap has begun",
  start: "Begin the swap",
  stillOpen: (count: number) =>
    count === 1
      ? "It can begin once the stop is put right or taken on by name."
      : `It can begin once all ${count} stops are put right or taken on by name.`,
  sheet: "Method statement (PDF)",
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
  badReading: (read: string, { low, high, unit }: { low: number; high: number; unit: string }) =>
    `Stop: ${read || "nothing"} is not within ${low} to ${high} ${unit}. Find out why before you go on, and read again; or give the swap up.`,
  reading: (unit: string) => `Reading, ${unit}`,
  limits: ({ low, high, unit }: { low: number; high: number; unit: string }) =>
    `It must lie within ${low} and ${high} ${unit}.`,
  takePhoto: "Take the photo",
  showPhoto: "Show the photo",
  photoOf: (step: number) => `Photo of step ${step}`,
  photoUnread: "This file cannot be read. Take the photo again.",
  second: "Name of the second person",
  secondHint: "Somebody else than you looks, and is named here.",
  together: (name: string) => `together with ${name}`,
  stepTakes: (minutes: number, seen: number) =>
    seen === 0
      ? `About ${duration(minutes)}, as planned`
      : `About ${duration(minutes)}: the median of the plan and ${seen === 1 ? "one time" : `${seen} times`} before`,
  takes: (all: number, left: number) =>
    left >= all
      ? `All steps take about ${duration(all)}.`
      : `All steps take about ${duration(all)}; about ${duration(left)} are left.`,
  left: (minutes: number) => `about ${duration(minutes)} left`,
  lastStep: (when: string, who: string) => `Last step ${when} by ${who}`,
  goOn: "Continue",
  standNow: "So the plant stands now, by the steps that were ticked:",
  whereOut: (unit: string) => `Unit ${unit} was taken out. Where is it now?`,
  waits: "Ticked here, waiting to be sent",
  finishTitle: "Finish",
  finish: "Finish the swap",
  finished: "The swap is finished.",
  abandoned: "The swap was given up.",
  leftAs: "The plant was left so:",
  abandon: "Give the swap up",
  abandonLead: "Whatever the next one must know: why it stopped, what hangs loose, who was told.",
  abandonField: "What there is to say besides",
  abandonDo: "Give it up",
  startedBy: (when: string, who: string) => `Begun ${when} by ${who}`,
  toSlot: "Open the slot",
};
