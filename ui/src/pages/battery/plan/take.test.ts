import { expect, it } from "vitest";
import { takesOf } from "./take";

it("a visit takes each lot once, and what is to be ordered by its day", () => {
  const change = (lot: string | null, order_by: string | null, cells = 1) => ({
    battery_model: "BAT-A",
    cells,
    lot,
    lot_code: lot && `code ${lot}`,
    order_by,
  });
  const takes = takesOf([
    change("L1", null),
    change(null, "2027-01-04"),
    change("L1", null, 2),
    change("L2", null),
    change(null, "2027-01-04", 2),
  ]);
  expect(takes.map(({ lot, order_by, cells }) => [lot, order_by, cells])).toEqual([
    ["L1", null, 3],
    [null, "2027-01-04", 3],
    ["L2", null, 1],
  ]);
});
