import { describe, expect, test } from "vitest";
import { announced } from "./last/last";
import { matching, met, served } from "./listed";

const line = (model: string, of: string) => ({
  model,
  model_title: "Analogue input, compact",
  storeroom: "ST1",
  class: of,
});

describe("finding a line", () => {
  const lines = [line("MP-AI16-C", "vital"), line("MP-DO16-C", "desirable")];
  test.each([
    ["", "", 2],
    ["ai16", "", 1],
    ["compact st1", "", 2],
    ["compact st2", "", 0],
    ["", "vital", 1],
  ])("%s of class %s", (text, only, count) => {
    expect(matching(lines, text, only)).toHaveLength(count);
  });
});

describe("a target is met by its own measure and no other", () => {
  const now = {
    stock: 2,
    no_stock_out: 0.95,
    fill_rate: 0.9,
    backorders: 0.02,
    down_time_h: 175.2,
  };
  test.each([
    ["no_stock_out", 0.95, true],
    ["fill_rate", 0.95, false],
    ["backorders", 0.02, true],
    ["backorders", 0.01, false],
    ["down_time_h", 175, false],
    ["down_time_h", 176, true],
  ])("%s %s", (measure, value, so) => {
    expect(met({ now, target: { measure, value } })).toBe(so);
  });
});

test("announced last days stand once a model, the nearest first", () => {
  expect(
    announced([
      { model: "B", last_order_on: "2027-05-01" },
      { model: "A", last_order_on: null },
      { model: "C", last_order_on: "2027-01-31" },
      { model: "B", last_order_on: "2027-05-01" },
    ]),
  ).toEqual([
    { model: "C", last_order_on: "2027-01-31" },
    { model: "B", last_order_on: "2027-05-01" },
  ]);
});

test.each([
  ["no_stock_out", 0.99993, "> 99.9 %", "no stock-out"],
  ["no_stock_out", 0.998, "99.8 %", "no stock-out"],
  ["fill_rate", 0, "0 %", "served at once"],
  ["fill_rate", 1, "100 %", "served at once"],
  ["backorders", 0.02, "0.02", "owed"],
])("a line says its service by the measure of its target: %s %s", (measure, value, said, what) => {
  const now = { stock: 1, no_stock_out: 0.5, fill_rate: 0.5, backorders: 0.5, down_time_h: 1 };
  expect(served({ now: { ...now, [measure]: value }, target: { measure, value: 0.9 } })).toEqual([
    said,
    what,
  ]);
});
