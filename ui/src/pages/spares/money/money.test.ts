import { describe, expect, test } from "vitest";
import type { BudgetChoice } from "../../../api/generated";
import { cents, differences, stepWithin, telling, withToday } from "./money";

describe("an amount as people type it", () => {
  test.each([
    ["5000", 500_000],
    ["5,000", 500_000],
    ["12,345.50", 1_234_550],
    ["12 345,5", 1_234_550],
    ["1,234,567", 123_456_700],
    ["0.29", 29],
    [" 7 ", 700],
  ])("%s", (text, amount) => expect(cents(text)).toBe(amount));

  test.each(["", "-5", "five", "1.234", "1e3"])("%s is none", (text) =>
    expect(cents(text)).toBeNull(),
  );
});

const curve = [100, 250, 600].map((spent_cents, at) => ({
  model: "A",
  model_title: "",
  storeroom: "ST1",
  pieces: 1,
  price_cents: 100,
  spent_cents,
  backorders: 0.3 - at / 10,
  availability: 0.9 + at / 100,
  nothing_missing: 0,
  gain: 0,
}));

test.each([
  [0, 0],
  [99, 0],
  [100, 1],
  [599, 2],
  [600, 3],
  [9999, 3],
])("%s cents reach step %s", (spent, step) => {
  const steps = withToday({ backorders: 0.5, availability: 0.8 }, curve);
  expect(stepWithin(steps, spent)).toBe(step);
});

test("two lists are held beside each other where they differ", () => {
  const bought = (model: string, pieces: number) => ({
    model,
    model_title: "",
    storeroom: "ST1",
    pieces,
    cost_cents: 1,
    held: 0,
    stand_ins: 0,
    lent: 0,
    backorders_before: 0,
    backorders_after: 0,
  });
  const choice = (...purchases: BudgetChoice["purchases"]) => ({ purchases }) as BudgetChoice;
  const found = differences(
    choice(bought("B", 2), bought("A", 1)),
    choice(bought("B", 1), bought("C", 1), bought("A", 1)),
  );
  expect(found).toEqual([
    { model: "B", storeroom: "ST1", best: 2, steps: 1 },
    { model: "C", storeroom: "ST1", best: 0, steps: 1 },
  ]);
});

test("the curve ends where little is left to gain, but never before the budget", () => {
  const steps = [1, 0.4, 0.1, 0.008, 0.0001].map((backorders, at) => ({
    spent_cents: 1000 * at,
    backorders,
    availability: 1 - backorders,
  }));
  expect(telling(steps, null)).toHaveLength(4);
  expect(telling(steps, 3000)).toHaveLength(5);
  expect(telling(steps.slice(0, 3), null)).toHaveLength(3);
});
