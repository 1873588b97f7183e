import { expect, it } from "vitest";
import type { ModelLine, PlanItem } from "../../api/generated";
import { added, beforeEnd, dropAt, moved, replacements, sent, wishesOf } from "./plan";

const item = (kind: string, x_mm: number, more: Partial<PlanItem> = {}) =>
  ({
    kind,
    model: null,
    title: "",
    slot: null,
    new: false,
    empty: false,
    base: null,
    key: null,
    bus_address: null,
    x_mm,
    width_mm: 20,
    gap_mm: 0,
    ...more,
  }) as PlanItem;

const model = (part_no: string, kind: string, base: string | null = null) =>
  ({ part_no, kind, base }) as ModelLine;

const row = [
  item("end_support", 0),
  item("slot", 20, { slot: "+K1.1.01", base: "own" }),
  item("slot", 40, { slot: "+K1.1.02", base: "compact" }),
  item("terminator", 60),
  item("end_support", 80),
];

it("a row that nobody changed is sent as it stands, new positions without an address", () => {
  const back = sent(wishesOf([...row, item("slot", 100, { slot: "+K1.1.03", new: true })]));
  expect(back.map(({ slot }) => slot)).toEqual([null, "+K1.1.01", "+K1.1.02", null, null, null]);
  expect(back[0]).not.toHaveProperty("id");
});

it("an item moves, and stops at the ends", () => {
  const order = (wishes: { id: number }[]) => wishes.map(({ id }) => id);
  const wishes = wishesOf(row);
  expect(order(moved(wishes, 1, 2))).toEqual([0, 2, 1, 3, 4]);
  expect(order(moved(wishes, 4, 0))).toEqual([4, 0, 1, 2, 3]);
  expect(order(moved(wishes, 1, 99))).toEqual([0, 2, 3, 4, 1]);
  expect(order(moved(wishes, 9, 0))).toEqual([0, 1, 2, 3, 4]);
});

it("something new goes before what closes the row, under an id of its own", () => {
  const wishes = wishesOf(row);
  expect(beforeEnd(wishes)).toBe(3);
  const more = added(wishes, model("MP-AI08-C", "module"), 3);
  expect([more[3]!.kind, more[3]!.model, more[3]!.id]).toEqual(["slot", "MP-AI08-C", 5]);
  expect(added(wishes, model("MP-TRM1", "terminator"), 0)[0]!.kind).toBe("terminator");
});

it("only what fits the base of a slot replaces what stands there", () => {
  const models = [
    model("A", "module", "compact"),
    model("B", "module", "extended"),
    model("T", "terminator"),
    model("C", "battery"),
  ];
  const names = (of: PlanItem) => replacements(of, models).map(({ part_no }) => part_no);
  expect(names(row[2]!)).toEqual(["A"]);
  expect(names({ ...row[2]!, new: true })).toEqual(["A", "B"]);
  expect(names(row[3]!)).toEqual(["T"]);
});

it("an item is dropped before the first other whose middle lies behind it", () => {
  expect(dropAt(row, 1, 5)).toBe(0);
  expect(dropAt(row, 1, 55)).toBe(2);
  expect(dropAt(row, 1, 300)).toBe(4);
});
