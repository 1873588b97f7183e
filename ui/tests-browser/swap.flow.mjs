// A failed module: stopped with a wrong key, swapped with a fitting spare, and found everywhere.

import assert from "node:assert/strict";
import { ask, flow, picture, scan, visit } from "./harness.mjs";

flow("a wrong key is stopped and nobody can override it", async ({ page, size }) => {
  const slot = await failedSlot(page);
  const { storerooms } = await ask(page, "stock.shelf");
  const units = storerooms.flatMap(({ bins }) => bins).flatMap((bin) => bin.units);
  const wrong = units.find(
    ({ key, condition }) =>
      condition === "good" && key?.scheme === slot.key.scheme && key.code !== slot.key.code,
  );
  assert.ok(wrong, "a spare of another key lies on a shelf");
  await visit(page, "swaps");
  await page.getByTestId("scan-slot").waitFor();
  await scan(page, slot.label);
  await page.getByTestId("scan-spare").waitFor();
  await scan(page, wrong.label);
  const verdict = page.getByTestId("verdict");
  await verdict.waitFor();
  assert.equal(await verdict.getAttribute("data-passes"), "false");
  assert.equal(await verdict.getAttribute("data-barred"), "true");
  assert.equal(await page.getByTestId("start-swap").count(), 0, "there is nothing to begin it with");
  assert.equal(await page.getByTestId("override").count(), 0, "nobody is asked to take it on");
  await picture(page, `swap-stopped-${size}`);
});

flow("a failed module is swapped step by step, and stock, orders and journal follow", async ({ page, site, size }) => {
  const slot = await failedSlot(page);
  const [spare] = await ask(page, "swap.candidates", { slot: slot.address });
  assert.ok(spare, "a fitting spare lies on a shelf");
  const held = await spares(page, spare.unit);

  await page.goto(new URL(`/#/swap-new/${encodeURIComponent(slot.label)}`, page.url()).href);
  await page.getByTestId("candidate").filter({ hasText: spare.unit.label_human }).click();
  await page.getByTestId("verdict").waitFor();
  await page.getByText(/does not replace local codes/).waitFor();
  await picture(page, `swap-verdict-${size}`);
  await page.getByTestId("start-swap").click();
  await page.getByTestId("steps").waitFor();
  await picture(page, `swap-steps-${size}`);
  await walkSteps(page);
  await page.getByTestId("finish").waitFor();
  await page.getByTestId("failure-mode").selectOption({ index: 1 });
  await page.getByTestId("detection").selectOption({ index: 1 });
  await picture(page, `swap-finish-${size}`);
  await page.getByTestId("finish-send").click();
  await page.getByTestId("swap-finished").waitFor();

  const now = await ask(page, "place.slot", { slot: slot.address });
  assert.equal(now.slot.unit.label, spare.unit.label, "the spare stands in the slot");
  const out = await ask(page, "unit.card", { unit: slot.unit.label });
  assert.equal(out.unit.place, "bench");
  assert.equal(out.unit.condition, "failed");
  const left = await spares(page, spare.unit);
  assert.equal(left.on_hand, held.on_hand - 1, "one less lies on the shelf");

  await visit(page, "orders");
  await page.getByTestId("orders-all").click();
  const line = page.locator(`[data-testid="spare"][data-model="${spare.unit.model}"]`);
  await line.first().waitFor();
  const shown = await line.evaluateAll((all) => all.map((one) => Number(one.dataset.order)));
  assert.ok(shown.includes(left.order_now), `orders show ${shown}, reckoned ${left.order_now}`);
  await picture(page, `orders-${size}`);

  await page.goto(new URL(`/#/journal?subject=${spare.unit.label}`, page.url()).href);
  await page.getByTestId("entry").first().waitFor();
  const kinds = await page
    .getByTestId("entry")
    .evaluateAll((all) => all.map((one) => one.dataset.kind));
  assert.ok(kinds.some((kind) => kind.startsWith("swap")), `the journal holds ${kinds}`);
  await page.getByTestId("verify").click();
  const report = page.getByTestId("verify-report");
  await report.waitFor();
  assert.equal(await report.getAttribute("data-clean"), "true");
  await picture(page, `journal-${size}`);
});

/** Ticks every step as it comes; at the first that wants a label, a wrong one must not do. */
async function walkSteps(page) {
  let refused = false;
  for (;;) {
    const { swap } = (await ask(page, "swap.open"))[0];
    const { steps, next_step } = await ask(page, "swap.show", { swap });
    if (next_step === null) break;
    const step = steps[next_step - 1];
    const here = page.locator('[data-testid="step"][data-now="true"]').filter({ hasText: step.text });
    await here.waitFor();
    if (!step.scan) await here.getByTestId("tick").click();
    else {
      if (!refused) {
        const other = steps.find(({ scan_label }) => scan_label && scan_label !== step.scan_label);
        await scan(page, other.scan_label);
        await here.getByTestId("failure").waitFor();
        const unmoved = await ask(page, "swap.show", { swap });
        assert.equal(unmoved.next_step, next_step, "a wrong label ticks nothing");
        refused = true;
      }
      await scan(page, step.scan_label);
    }
    await here.waitFor({ state: "detached" });
  }
  assert.ok(refused, "some step wanted a label");
}

async function failedSlot(page) {
  for (const { address } of await ask(page, "place.cabinets")) {
    const { rails } = await ask(page, "place.cabinet", { cabinet: address });
    const slots = rails.flatMap(({ items }) => items).flatMap(({ slot }) => slot ?? []);
    const failed = slots.find(({ state, key }) => state === "failed" && key);
    if (failed) return failed;
  }
  throw new Error("no slot of the sample site holds a failed module");
}

/** The shelf's figures for a unit's model in the storeroom where it lies. */
async function spares(page, { model, place }) {
  const { lines } = await ask(page, "spares.table", { model });
  return lines.find(({ storeroom }) => place.startsWith(`${storeroom}/`)) ?? lines[0];
}
