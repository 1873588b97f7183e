export const words = {
  lenders: "Units that could be lent",
  lendersLead:
    "Units of the same model in less important slots, cheapest first. Take one out there first; then it is a spare.",
  noLenders: "No less important slot holds a unit of this model that would fit here.",
  from: (slot: string) => `from ${slot}`,
  cost: "Cost:",
  loopsLost: (count: number) => (count === 1 ? "Show the loop" : `Show ${count} loops`),
  lend: "Take it out to lend it",
  lendTitle: (slot: string) => `Lend a unit to ${slot}`,
  takeOut: (slot: string) => `Take it out of ${slot}`,
  lentTo: (slot: string) => `Lent to ${slot}`,
  lendsNothing:
    "No less important slot holds this unit any more. If it was taken out, go on with the swap.",
  toSwap: "To the swap",
  common: "Whatever unit goes in here",
  effectsThere: "Effects of taking it out",
  moreReasons: (count: number) => `and ${count} more in the verdict`,
  fits: "Where it fits",
  fitsTitle: (unit: string) => `Slots that ${unit} may go into`,
  inNeed: "In need",
  standing: "Filled and good",
  none: "None.",
};

export const nearness: Record<string, string> = {
  serving: "nearest store",
  central: "central store",
  other_storeroom: "another store",
  bench: "on the bench",
  elsewhere: "not on a shelf",
};
