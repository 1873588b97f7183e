import { counted } from "./counted";

/** What comes back from repair. */
export const repairWords = {
  title: "Repair",
  turnRound: "Away for",
  days: (count: string) => `${count} days`,
  yield: "Come back working",
  inRepair: "Away now",
  expected: "Away on average",
  boughtAnew: "Bought anew a year",
  empty: "Places empty on average",
  ofPlaces: (empty: string, places: number) => `${empty} of ${places}`,
  allWorking: "Every place has a working unit",
  price: "A repair costs",
};

/** What may stand in. */
export const substituteWords = {
  title: "Substitutes",
  directions: {
    stands_in: "may stand in for it",
    is_helped: "it may stand in for this one",
  } as Record<string, string>,
  usable: (usable: number, left: number) =>
    `${usable} usable there, ${left} more than its own level`,
  cover: (alone: string, pooled: string) =>
    `No stock-out alone ${alone}, with both stocks together ${pooled}`,
  owed: (alone: string, pooled: string) => `Owed on average alone ${alone}, together ${pooled}`,
  bound: "Together is a careful bound.",
};

/** Two echelons. */
export const storesWords = {
  title: "Storerooms",
  now: "Now",
  best: "Best split",
  central: "Central",
  storeroom: "Storeroom",
  pieces: "Pieces",
  owed: "Owed on average",
  empty: "Empty, h a year",
  demand: "Asked for a year",
  inDays: (days: string) => `filled in ${days} days`,
  waiting: (days: string, effective: string) =>
    days === effective
      ? `filled in ${days} days`
      : `filled in ${days} days, ${effective} with waiting`,
  placesOf: (count: number) => counted(count, "place"),
  total: "Together",
  reckonings: {
    exact: "Exact",
    vari_metric: "Two moments (VARI-METRIC)",
    metric: "Poisson (METRIC)",
  } as Record<string, string>,
  shown: (which: string) => `Reckoning shown: ${which}.`,
  others: "By each way of reckoning",
  withLoans: "Owed now, with loans between them",
  lateral: "Storerooms lend to each other.",
  noLateral: "Storerooms do not lend to each other.",
  howMany: "Pieces to split",
  howManyHint: "What is there in all, where left empty.",
  same: "The pieces lie as well as they can.",
  drawing: (model: string) =>
    `Pieces owed in each storeroom of ${model}, now and with the best split; the table says the same`,
  owedNow: "Owed now",
  owedBest: "Owed with the best split",
};
