import { expect, test } from "vitest";
import { wishOf } from "./wish";

test.each([
  ["nothing", [null, false, null, null], {}],
  ["what changes nothing", [1, false, 0, 0], {}],
  ["twice the lead time", [2, false, null, null], { lead_time_factor: 2 }],
  ["a lost supplier", [null, true, null, null], { supplier_lost: true }],
  ["a cooler room and fewer units", [1, false, -5, -10], { warmer_k: -5, units_pct: -10 }],
] as const)("%s is asked for", (_, fields, what) => {
  const wish = wishOf(...(fields as unknown as Parameters<typeof wishOf>));
  expect(wish.what).toEqual(what);
  expect(wish.on).toBe(Object.keys(what).length > 0);
});
