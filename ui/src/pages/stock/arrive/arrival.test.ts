import { expect, test } from "vitest";
import type { OrderMatch } from "../../../api/generated";
import { add, begin, beyond, complete } from "./arrival";

const match = (said: Partial<OrderMatch>): OrderMatch =>
  ({ counted: true, orders: [], ...said }) as OrderMatch;
const orders = [
  { order: "o1", outstanding: 4 },
  { order: "o2", outstanding: 9 },
] as OrderMatch["orders"];

test("what came begins on the order that is due first, in the bin of its like", () => {
  const came = begin(match({ model: "MP-CEL1", lot: "X77", orders, bin: "ST1/C-01" }), "ST1/Z-01");
  expect(came).toMatchObject({ order: "o1", lot: "X77", bin: "ST1/C-01", pieces: null });
  expect(begin(match({ model: "MP-X" }), "ST1/Z-01")).toMatchObject({ order: "", bin: "ST1/Z-01" });
});

test("a second code of the plate is added, another plate is not", () => {
  const came = begin(match({ counted: false, model: "MP-PS03" }), "");
  expect(add(came, match({ serial: "PS-77" }))).toBe(true);
  expect(came.serial).toBe("PS-77");
  expect(add(came, match({ serial: "PS-78" }))).toBe(false);
  expect(add(came, match({ model: "MP-PS05" }))).toBe(false);
  expect(came).toMatchObject({ model: "MP-PS03", serial: "PS-77" });
});

test("a serial number scanned before the part number waits for it", () => {
  const came = begin(match({ serial: "PS-77" }), "ST1/B-01");
  expect(add(came, match({ counted: false, model: "MP-PS03", orders, bin: "ST1/B-02" }))).toBe(
    true,
  );
  expect(came).toMatchObject({ model: "MP-PS03", serial: "PS-77", order: "o1", bin: "ST1/B-02" });
});

test("more than is still to come on the order is told", () => {
  const came = begin(match({ model: "MP-CEL1", lot: "X77", orders }), "");
  came.pieces = 4;
  expect(beyond(came)).toBe(0);
  came.pieces = 6;
  expect(beyond(came)).toBe(2);
  came.order = "o2";
  expect(beyond(came)).toBe(0);
  came.order = "";
  expect(beyond(came)).toBe(0);
});

test("a unit needs its serial number, pieces need lot and number, and both a bin", () => {
  const unit = begin(match({ counted: false, model: "MP-PS03", serial: "PS-77" }), "");
  expect(complete(unit)).toBe(false);
  expect(complete({ ...unit, bin: "ST1/B-01" })).toBe(true);
  const lot = begin(match({ model: "MP-CEL1", lot: "X77", bin: "ST1/C-01" }), "");
  expect(complete(lot)).toBe(false);
  expect(complete({ ...lot, pieces: 6 })).toBe(true);
});
