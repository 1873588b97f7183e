import type { BudgetChoice, BudgetPoint, BudgetPurchase } from "../../../api/generated";

/** Hours of a year: what is owed on average, times these, is how long places stand empty. */
export const HOURS_Y = 8760;

/** A step of the curve: what was spent by then, and what it brought. */
export interface Step {
  spent_cents: number;
  backorders: number;
  availability: number;
}

/** The curve with today before it. */
export function withToday(
  { backorders, availability }: { backorders: number; availability: number },
  curve: BudgetPoint[],
): Step[] {
  return [{ spent_cents: 0, backorders, availability }, ...curve];
}

/**
 * The steps that matter: to where a hundredth of today's shortage is left, and past the budget.
 */
export function telling(steps: Step[], budget_cents: number | null): Step[] {
  const little = (steps[0]?.backorders ?? 0) / 100;
  const enough = steps.findIndex(
    ({ spent_cents, backorders }) =>
      backorders <= little && spent_cents >= 1.2 * (budget_cents ?? 0),
  );
  return enough < 0 ? steps : steps.slice(0, Math.max(2, enough + 1));
}

/** The last step that so much money reaches. */
export function stepWithin(steps: Step[], cents: number): number {
  const over = steps.findIndex(({ spent_cents }) => spent_cents > cents);
  return over < 0 ? steps.length - 1 : Math.max(0, over - 1);
}

/** Where two lists of purchases buy different numbers of a model for a storeroom. */
export interface Difference {
  model: string;
  storeroom: string;
  best: number;
  steps: number;
}

export function differences(best: BudgetChoice, steps: BudgetChoice): Difference[] {
  const key = ({ model, storeroom }: BudgetPurchase) => `${model} ${storeroom}`;
  const found = new Map<string, Difference>();
  for (const [side, { purchases }] of [
    ["best", best],
    ["steps", steps],
  ] as const)
    for (const bought of purchases) {
      const { model, storeroom } = bought;
      const line = found.get(key(bought)) ?? { model, storeroom, best: 0, steps: 0 };
      line[side] += bought.pieces;
      found.set(key(bought), line);
    }
  return [...found.values()]
    .filter(({ best, steps }) => best !== steps)
    .sort((a, b) => a.model.localeCompare(b.model) || a.storeroom.localeCompare(b.storeroom));
}

/** Cents of an amount that somebody typed, with a comma or a point; nothing where it is none. */
export function cents(text: string): number | null {
  const plain = text
    .trim()
    .replace(/[\s,](?=\d{3}(\D|$))/g, "")
    .replace(",", ".");
  if (!/^\d+(\.\d{1,2})?$/.test(plain)) return null;
  return Math.round(Number(plain) * 100);
}
