// A due battery, its change recorded by scanning controller and lot, and what differs after.

import assert from "node:assert/strict";
import { ask, flow, picture, scan, visit } from "./harness.mjs";

flow("a battery is due, is changed, and is due no more", async ({ page, size }) => {
  const before = await ask(page, "battery.list");
  const due = before.find(({ urgency }) => urgency === "overdue");
  assert.ok(due, "the sample site has a battery that is overdue");
  const lot = await usableLot(page, due.battery_model, due.cells);

  await visit(page, "batteries");
  const lines = page.getByTestId("battery-line");
  await lines.first().waitFor();
  assert.equal(await lines.count(), before.length);
  assert.equal(await lines.first().getAttribute("data-urgency"), "overdue", "the worst stands first");
  await picture(page, `batteries-${size}`);

  const line = lines.filter({ hasText: due.unit.label_human });
  await line.getByTestId("change-battery").click();
  await page.getByTestId("scan-lot").waitFor();
  await page.getByText(/does not replace local codes/).waitFor();
  await scan(page, lot.label);
  await page.getByTestId("change-form").waitFor();
  await page.getByTestId("saved").check();
  await page.getByTestId("powered").check();
  await picture(page, `battery-change-${size}`);
  await page.getByTestId("record-change").click();
  await page.getByTestId("change-form").getByTestId("done").waitFor();

  const after = await ask(page, "battery.list");
  const now = after.find(({ unit }) => unit.label === due.unit.label);
  assert.ok(now.due_on > due.due_on, `due ${due.due_on} before the change, ${now.due_on} after`);
  assert.notEqual(now.urgency, "overdue");
  const { pieces } = await ask(page, "stock.lot", { lot: lot.label });
  assert.equal(pieces, lot.pieces - due.cells, "the cells left the shelf");
});

async function usableLot(page, model, cells) {
  const { storerooms } = await ask(page, "stock.shelf");
  const lots = storerooms.flatMap(({ bins }) => bins).flatMap((bin) => bin.lots);
  const lot = lots.find(
    (lot) =>
      lot.model === model &&
      !lot.expired &&
      !lot.quarantined &&
      lot.bins.length === 1 &&
      lot.pieces >= cells,
  );
  assert.ok(lot, `a lot of ${model} that may be fitted lies in one bin`);
  return lot;
}
