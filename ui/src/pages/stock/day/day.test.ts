import { expect, test } from "vitest";
import type { LotLine, OrderLine, ReservationLine, Shelf, SpareLine } from "../../../api/generated";
import { dayOf, lotsOf, moved } from "./day";

const TODAY = "2026-11-25";

const order = (name: string, due_on: string | null, rest: Partial<OrderLine> = {}) =>
  ({ order: name, due_on, outstanding: 2, closed: false, ...rest }) as OrderLine;
const lot = (label: string, shelf_until: string | null, bins = [{ bin: "A", pieces: 1 }]) =>
  ({ label, shelf_until, pieces: bins[0]!.pieces, bins }) as LotLine;
const kept = (reservation: string, until: string | null) =>
  ({ reservation, until }) as ReservationLine;

function shelf(
  parts: Partial<{ lots: LotLine[]; counted_at: string | null; bench: boolean }>,
): Shelf {
  const bin = {
    path: "A",
    units: [],
    lots: parts.lots ?? [],
    counted_at: parts.counted_at ?? null,
  };
  const elsewhere = parts.bench
    ? [
        { label: "U1", place: "bench", since: "2026-01-01" },
        { label: "U2", place: "repair" },
        { label: "U3", place: "lost", since: "" },
        {
          label: "U4",
          place: "bench",
          since: "",
          handed_out: { swap: "S", slot: "+K12.2.07", to: "the swap in +K12.2.07" },
        },
        {
          label: "U5",
          place: "bench",
          since: "2026-02-01",
          handed_out: { to: "Technician 1", at: "2026-02-01T08:00:00Z" },
        },
      ]
    : [];
  return { storerooms: [{ code: "ST1", title: "", bins: [bin] }], elsewhere } as unknown as Shelf;
}

test("orders are late after their day, and due up to a month ahead", () => {
  const orders = [
    order("due", "2026-11-25"),
    order("late", "2026-11-24", { late_d: 1 }),
    order("later", "2026-11-01", { late_d: 24 }),
    order("far", "2027-06-01"),
    order("came", "2026-11-01", { outstanding: 0 }),
    order("closed", "2026-11-01", { closed: true }),
    order("undated", null),
  ];
  const day = dayOf(shelf({}), orders, [], [], TODAY);
  expect(day.late.map(({ order }) => order)).toEqual(["later", "late"]);
  expect(day.due.map(({ order }) => order)).toEqual(["due"]);
});

test("what runs out is shown before it does, and what has no end is not", () => {
  const day = dayOf(
    shelf({
      lots: [
        lot("soon", "2027-01-10"),
        lot("past", "2026-05-10"),
        lot("long", "2029-01-10"),
        lot("none", null),
      ],
    }),
    [],
    [kept("a", "2026-11-30"), kept("b", "2026-11-20"), kept("c", "2027-11-20"), kept("d", null)],
    [],
    TODAY,
  );
  expect(day.lots.map(({ label }) => label)).toEqual(["past", "soon"]);
  expect(day.reservations.map(({ reservation }) => reservation)).toEqual(["b", "a"]);
});

test("a shelf is to be counted a year after its last count, and units on the bench to be tested", () => {
  const bins = (counted_at: string | null) =>
    dayOf(shelf({ counted_at }), [], [], [], TODAY).bins.length;
  expect([bins(null), bins("2025-11-24T10:00:00Z"), bins("2025-11-26T10:00:00Z")]).toEqual([
    1, 1, 0,
  ]);
  const { handedOut, bench, lost } = dayOf(shelf({ bench: true }), [], [], [], TODAY);
  expect(bench.map(({ label }) => label)).toEqual(["U1"]);
  expect(handedOut.map(({ label, handed_out }) => [label, handed_out.to])).toEqual([
    ["U5", "Technician 1"],
    ["U4", "the swap in +K12.2.07"],
  ]);
  expect(lost.map(({ label }) => label)).toEqual(["U3"]);
});

test("what matters most of what is to order comes first", () => {
  const lines = [
    { model: "B", rank: 2, order_now: 1 },
    { model: "A", rank: 1, order_now: 3 },
  ] as SpareLine[];
  const { wanted } = dayOf(shelf({}), [], [], lines, TODAY);
  expect(wanted.map(({ model }) => model)).toEqual(["A", "B"]);
});

test("a lot of two shelves is one lot with all its pieces", () => {
  const both = lot("L", null, [
    { bin: "A", pieces: 6 },
    { bin: "B", pieces: 2 },
  ]);
  const bins = [{ lots: [both] }, { lots: [{ ...both, pieces: 2 }] }] as never;
  expect(lotsOf(bins).map(({ pieces }) => pieces)).toEqual([8]);
});

test("days are moved over the ends of months and years", () => {
  expect(moved("2026-12-31", 1)).toBe("2027-01-01");
  expect(moved("2028-02-28", 1)).toBe("2028-02-29");
});
