import { counted } from "./counted";

export const words = {
  title: "Life of a battery type",
  type: "Battery type",
  none: "No controller of the register takes a back-up battery.",
  lives: {
    model: "Reckoned from the catalogue",
    learned: "Found at this site",
    blended: "Both together",
  } as Record<string, string>,
  inService: (count: number) => counted(count, "in service", "in service"),
  found: "What was found",
  cells: (count: number) =>
    count === 0
      ? "No old cell of this type is on record."
      : count === 1
        ? "1 cell is on record:"
        : `${count} cells are on record:`,
  foundAs: {
    good: "still good",
    weak: "weak",
    spent: "spent",
    not_judged: "not judged",
    untold: "that tell nothing of their life",
  } as Record<string, string>,
  outlivedWhy:
    "A cell changed while still good counts as well: it tells that the life is longer than its time in service.",
  leftOut: (count: number) =>
    counted(count, "record contradicts others", "records contradict others"),
  share: (share: string) => `What was found makes up ${share} of the two together.`,
  curves: "Share still good after so many years",
  drawing: (type: string) =>
    `Curves of the share of ${type} still good over the years; the table says the same`,
  years: "Years in service",
  table: "As a table",
  half: "Half are spent after",
  tenth: "One in ten is spent after",
  yearsOf: (years: string) => `${years} years`,
  scale: "Scale, years",
  shape: "Shape",
  advice: "Advice",
  adviceAt: (age: string) => `Change at ${age} years`,
  adviceEnd: "Change when it is spent: no age is cheaper",
  policies: "What each way costs",
  policy: "Way",
  every: "Every",
  rate: "A year, for each battery",
  ways: {
    age: "Each at its own age",
    block: "Each place at fixed times",
    group: "All together after whole years",
    group_waiting: "All together, ends of the last year wait",
    to_failure: "Never before the end",
    present: "The site's limit now",
  } as Record<string, string>,
  costs: (planned: string, loss: string) =>
    `Reckoned with ${planned} for a planned change and ${loss} for a lost memory.`,
  atEnd: "at its end",
};
