import { counted } from "./counted";

export const words = {
  title: "Spares",
  views: {
    "": "Models",
    money: "Money",
    last: "Last chance",
    planned: "Changes",
  } as Record<string, string>,
  find: "Find",
  findHint: "Part number, title or storeroom",
  classShown: "Class",
  allClasses: "all",
  none: "Nothing of that kind is held.",
  onHand: "usable",
  onOrder: "On order",
  level: "level",
  levelSaid: (at: number, upTo: number) => (at + 1 === upTo ? `${upTo}` : `${at} / ${upTo}`),
  levelHint: "A level of 2 / 6 says: at 2 or fewer, order up to 6.",
  measures: {
    no_stock_out: "no stock-out",
    fill_rate: "served at once",
    backorders: "owed",
    down_time_h: "h a year down",
  } as Record<string, string>,
  target: "Target",
  toOrder: (count: number) => `order ${count}`,
  toFetch: (count: number) => `fetch ${count}`,
  fine: "on target",
  below: "below target",
  counted: (count: number) => counted(count, "line"),
  first: (shown: number, all: number) => `The first ${shown} of ${counted(all, "line")}`,
  owed: (now: string, level: string) =>
    `${now} places stand empty on average now, ${level} with all levels filled.`,
  worth: (amount: string) => `The usable stock is worth ${amount}.`,
};
