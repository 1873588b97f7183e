// A due battery, its change recorded by scanning controller and lot, and what differs after.

import assert from "node:assert/strict";
import { ask, flow, picture, scan, visit } from "./harness.mjs";

flow("a battery is due, is changed, and is due no more", async ({ page, size }) => {
  const before = await ask(page, "battery.list");
  const due = before.find(({ urgency }) => urgency === "overdue");
  assert.ok(due, "the sample site has a battery that is overdue");
  const lot = await usableLot(page, due);

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
  assert.ok(
    await page.getByTestId("record-change").isDisabled(),
    "nothing is recorded before somebody said whether the program is saved",
  );
  await page.getByTestId("saved").check();
  await page.getByTestId("not-powered").check();
  await page.getByText(/capacitor holds/).waitFor();
  await page.getByTestId("found-weak").check();
  await page.getByTestId("found-mv").fill("2900");
  await picture(page, `battery-change-${size}`);
  await page.getByTestId("record-change").click();
  await page.getByTestId("change-form").getByTestId("done").waitFor();

  const after = await ask(page, "battery.list");
  const now = after.find(({ unit }) => unit.label === due.unit.label);
  assert.ok(now.due_on > due.due_on, `due ${due.due_on} before the change, ${now.due_on} after`);
  assert.notEqual(now.urgency, "overdue");
  const { pieces } = await ask(page, "stock.lot", { lot: lot.label });
  assert.equal(pieces, lot.pieces - due.cells, "the cells left the shelf");
  const [entry] = await ask(page, "journal.list", { subject: due.unit.label });
  assert.match(entry.message, /without power, program saved before/);
});

flow("a lot of the wrong type or past its date stops, and says what to take", async ({ page, size }) => {
  const lots = await allLots(page);
  const outdated = (line) =>
    lots.find(({ model, expired }) => model === line.battery_model && expired);
  const due = (await ask(page, "battery.list")).find(outdated);
  assert.ok(due, "the sample site has a lot past its date that a controller would take");
  const expired = outdated(due);
  const wrong = lots.find(({ model, expired }) => model !== due.battery_model && !expired);
  const right = lots.find(
    ({ model, expired, quarantined, pieces }) =>
      model === due.battery_model && !expired && !quarantined && pieces >= due.cells,
  );

  await page.goto(new URL(`/#/battery/${due.unit.label}`, page.url()).href);
  for (const [lot, said] of [
    [wrong, wrong.model],
    [expired, "past its shelf date"],
  ]) {
    await page.getByTestId("scan-lot").waitFor();
    await scan(page, lot.label);
    const stop = page.getByTestId("lot-stop");
    await stop.getByText(said).first().waitFor();
    assert.equal(await page.getByTestId("record-change").count(), 0, "there is nothing to press");
    await stop.getByText(right.label_human).waitFor();
    await picture(page, `battery-stop-${lot === wrong ? "type" : "date"}-${size}`);
    await stop.getByTestId("other-lot").click();
  }
  await scan(page, right.label);
  await page.getByTestId("change-form").waitFor();
});

async function allLots(page) {
  const { storerooms } = await ask(page, "stock.shelf");
  return storerooms.flatMap(({ bins }) => bins).flatMap((bin) => bin.lots);
}

async function usableLot(page, { battery_model, cells }) {
  const lot = (await allLots(page)).find(
    (lot) =>
      lot.model === battery_model &&
      !lot.expired &&
      !lot.quarantined &&
      lot.bins.length === 1 &&
      lot.pieces >= cells,
  );
  assert.ok(lot, `a lot of ${battery_model} that may be fitted lies in one bin`);
  return lot;
}
