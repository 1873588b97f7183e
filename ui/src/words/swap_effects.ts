export const words = {
  title: (slot: string) => `Effects of work at ${slot}`,
  open: "Effects on loops and other units",
  print: "List to sign (PDF)",
  own: "Loops on the unit",
  disturbed: "Other units that are disturbed",
  noneDisturbed: "By the register no other unit is disturbed.",
  redundancy: "Redundancy",
  isolates: "The supply of the rail must be isolated: everything on it goes down.",
  toSlot: "Open the slot",
  happens: "When the signal goes:",
  before: "Before:",
  loops: (count: number) => (count === 1 ? "1 loop" : `${count} loops`),
  because: (why: string) => `because ${why}`,
  noLoops: "No loop is recorded on it.",
  counts: {
    manual: "in manual",
    bypass: "to bypass",
    announce: "to announce",
    nothing: "nothing needed",
    not_recorded: "not recorded",
    safety: "of a safety function",
  },
};

/** What operations do with a loop before its signal goes. */
export const clearances: Record<string, string> = {
  manual: "Manual",
  bypass: "Bypass",
  announce: "Announce",
  nothing: "Nothing",
};
export const notRecorded = "Ask";

export const redundancies: Record<string, string> = {
  single: "Single",
  carried: "Carried by the partner",
  lost: "Partner does not carry it",
};
