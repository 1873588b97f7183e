import { counted } from "./counted";

export const words = {
  title: "Level",
  stock: "Stock",
  share: "Share",
  owed: "Pieces owed",
  emptyAxis: "Hours empty a year",
  owedAndEmpty: "Pieces owed on average, and hours that places stand empty in a year",
  target: "Target",
  measures: {
    no_stock_out: "No stock-out in a lead time",
    fill_rate: "Demands served at once",
    backorders: "Pieces owed on average",
    down_time_h: "Hours that places stand empty in a year",
  } as Record<string, string>,
  heads: {
    no_stock_out: "No stock-out",
    fill_rate: "Served at once",
    backorders: "Owed",
    down_time_h: "Empty, h a year",
  } as Record<string, string>,
  whatTheyMean: "What the four measures say",
  meanings: {
    no_stock_out: "The chance that the stock lasts through one lead time.",
    fill_rate: "The share of all pieces asked for that are handed out at once.",
    backorders: "The pieces that are owed at any moment, on average.",
    down_time_h: "The hours in a year that places wait for a piece, all places together.",
  } as Record<string, string>,
  levelMark: "level",
  nowMark: "now",
  drawingShares: (model: string) =>
    `Chance of no stock-out and share served at once at each stock of ${model}; the table says the same`,
  drawingOwed: (model: string) => `Pieces owed at each stock of ${model}; the table says the same`,
  serviceSaid: (stock: number, none: string, filled: string, owed: string, empty: string) =>
    `Stock ${stock}: no stock-out ${none}, served at once ${filled}, ${owed} owed, empty ${empty} ${empty === "1" ? "hour" : "hours"} a year`,
  policies: {
    base_stock: (_: number, upTo: number) =>
      upTo === 0 ? "Hold none" : `Hold ${upTo}, and replace each piece that is taken`,
    lots: (at: number, upTo: number) =>
      at < 0
        ? `Order up to ${upTo} once ${counted(-at, "is", "are")} owed`
        : at === 0
          ? `When none is left, order up to ${upTo}`
          : `At ${at} or fewer, order up to ${upTo}`,
    periodic: (_: number, upTo: number) => `At each review, order up to ${upTo}`,
    planned: (_: number, upTo: number) =>
      upTo > 0 ? `Bought for the planned days, ${upTo} in all` : "Bought for the planned days",
    counted: () => "Its pieces count for another storeroom",
  } as Record<string, (at: number, upTo: number) => string>,
  atLeast: (value: string) => `at least ${value}`,
  atMost: (value: string) => `at most ${value}`,
  pieces: (value: string) => `${value} ${value === "1" ? "piece" : "pieces"}`,
  hoursYear: (value: string) => `${value} h a year`,
  servesPlaces: (count: number) => `serves ${counted(count, "place")}`,
  filledFrom: (from: string) => `filled from ${from}`,
  onHand: "Usable now",
  reserved: (count: number) => `${count} reserved`,
  onOrder: "On order",
  toOrder: "To order now",
  toFetch: (from: string) => `To bring from ${from}`,
  price: "Price",
  leadTime: "Lead time",
  days: (count: number) => counted(count, "day"),
  assumed: "not stated, the usual one is taken",
  lasts: "Lasts until about",
  longer: "longer than ten years",
  inTheLeadTime: "Asked for in a lead time",
  limits: "What limits it",
  service: "Service at each stock",
  catalogue: "Catalogue card",
  chosen: (who: string, when: string, reason: string) => `Chosen by ${who} on ${when}: ${reason}`,
  none: (model: string) => `No storeroom holds ${model}, and no place takes it.`,
};

/** How critical a place without a unit is. */
export const classes: Record<string, string> = {
  vital: "Vital",
  essential: "Essential",
  desirable: "Desirable",
};

export const classWords = {
  title: "Classes",
  criticality: "By what fails without it",
  fromSlot: (slot: string) => `most critical place ${slot}`,
  takenOver: (model: string) => `bought in place of ${model}`,
  value: "By yearly value",
  values: {
    A: "A: the few that most of the money goes to",
    B: "B: in between",
    C: "C: the many that cost little",
  } as Record<string, string>,
  variation: "By steadiness of demand",
  variations: { X: "X: steady", Y: "Y: changing", Z: "Z: hardly to be foreseen" } as Record<
    string,
    string
  >,
  pattern: "Pattern of demand",
  patterns: {
    smooth: "smooth: asked for often, in like amounts",
    intermittent: "intermittent: asked for seldom, in like amounts",
    erratic: "erratic: asked for often, in changing amounts",
    lumpy: "lumpy: asked for seldom, in changing amounts",
  } as Record<string, string>,
  yearly: (amount: string) => `${amount} a year`,
  unknown: "not known",
};
