// A failed module: stopped with a wrong key, swapped with a fitting spare, and found everywhere.

import assert from "node:assert/strict";
import { ask, fits, flow, picture, saved, scan, visit } from "./harness.mjs";

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
  assert.equal(
    await page.getByTestId("start-swap").count(),
    0,
    "there is nothing to begin it with",
  );
  assert.equal(await page.getByTestId("override").count(), 0, "nobody is asked to take it on");
  await picture(page, `swap-stopped-${size}`);
});

flow(
  "a failed module is swapped step by step, and stock, orders and journal follow",
  async ({ page, site, size }) => {
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
    assert.ok(
      kinds.some((kind) => kind.startsWith("swap")),
      `the journal holds ${kinds}`,
    );
    await page.getByTestId("verify").click();
    const report = page.getByTestId("verify-report");
    await report.waitFor();
    assert.equal(await report.getAttribute("data-clean"), "true");
    await picture(page, `journal-${size}`);
  },
);

const RESUMED = "an interrupted swap goes on where it stopped, on a phone let in by its pass";
flow(
  RESUMED,
  async ({ page, site, size }) => {
    const other = await site.phone(page, size);
    const slot = await failedSlot(page);
    const [spare] = await ask(page, "swap.candidates", { slot: slot.address });
    const input = { slot: slot.address, unit: spare.unit.label };
    const { swap, steps } = await ask(page, "swap.start", input);
    await page.goto(new URL(`/#/swap/${swap}`, page.url()).href);
    await page.getByTestId("steps").waitFor();
    const pulled = steps.findIndex(({ text }) => /Pull the module/.test(text)) + 1;
    assert.ok(pulled > 3, "the sample's failed module sits on a base");
    await walk(page, swap, pulled);

    await visit(other, "swaps");
    const open = other.getByTestId("open-swap").filter({ hasText: slot.address });
    await open.waitFor();
    await open.getByText("Continue").waitFor();
    await fits(other);
    await picture(other, `swap-continue-${size}`);
    await open.click();
    await other.getByTestId("swap").waitFor();
    const now = other.locator('[data-testid="step"][data-now="true"]');
    await now.filter({ hasText: steps[pulled].text }).waitFor();
    await now.scrollIntoViewIfNeeded();
    await fits(other);
    await picture(other, `swap-resumed-${size}`);
    await walk(other, swap, pulled + 1);
    // The first device sees what the second did.
    await page
      .locator('[data-testid="step"][data-now="true"]')
      .filter({ hasText: steps[pulled + 1].text })
      .waitFor();

    await other.getByTestId("abandon").click();
    const stand = other.getByTestId("stand");
    await stand.getByText(/is empty, its base unlatched/).waitFor();
    await stand.getByText(/was taken out/).waitFor();
    await other.getByTestId("state-left").fill("The wrong spare was fetched.");
    await fits(other);
    await picture(other, `swap-give-up-${size}`);
    await other.getByTestId("abandon-send").click();
    await other.getByText(/is now at: bench/).waitFor();
    await picture(other, `swap-given-up-${size}`);
    const { unit } = await ask(other, "unit.card", { unit: slot.unit.label });
    assert.equal(unit.place, "bench", "the register follows what hands did");
    await other.emulateMedia({ colorScheme: "dark" });
    await visit(other, "swaps");
    await other.getByTestId("scan-slot").waitFor();
    await picture(other, `swap-dark-${size}`);
    await other.close();
  },
  { lan: true },
);

flow("a controller's swap asks for a photo and a second person", async ({ page, size }) => {
  const { input, steps } = await ownBase(page);
  const { swap } = await ask(page, "swap.start", input);
  await page.emulateMedia({ colorScheme: "dark" });
  await page.goto(new URL(`/#/swap/${swap}`, page.url()).href);
  await page.getByTestId("steps").waitFor();
  const at = steps.findIndex(({ photo }) => photo) + 1;
  await walk(page, swap, at - 1);
  await page.getByTestId("step-photo").waitFor({ state: "attached" });
  await fits(page);
  await picture(page, `swap-photo-${size}`);
  await walk(page, swap, at);
  await page.getByTestId("show-photo").click();
  await page.locator('[data-testid="step"] img').waitFor();
  await walk(page, swap, steps.length);
  await page.getByTestId("finish").waitFor();
  const { steps: done } = await ask(page, "swap.show", { swap });
  assert.match(done[at - 1].photo_taken, /^[0-9a-f]{64}$/);
  await picture(page, `swap-with-photo-${size}`);
});

flow(
  "effects are looked at and printed for the control room before the work",
  async ({ page, size }) => {
    const slot = await failedSlot(page);
    const known = await ask(page, "swap.effects", { slot: slot.address });
    await page.goto(new URL(`/#/swap-new/${encodeURIComponent(slot.address)}`, page.url()).href);
    await page.getByTestId("to-effects").click();
    await page.getByTestId("effects").waitFor();
    await page.getByText(/does not replace local codes/).waitFor();
    const shown = await page.getByTestId("effect").count();
    assert.equal(shown, known.loops.length, "each loop of the unit is shown");
    await fits(page);
    await picture(page, `swap-effects-${size}`);
    const pdf = await saved(page, () => page.getByTestId("effects-sheet").click());
    assert.equal(pdf.subarray(0, 4).toString(), "%PDF");

    const controller = await controllerSlot(page);
    await page.goto(new URL(`/#/swap-effects/${encodeURIComponent(controller)}`, page.url()).href);
    await page.getByTestId("disturbed").first().waitFor();
    const all = await ask(page, "swap.effects", { slot: controller });
    assert.equal(await page.getByTestId("disturbed").count(), all.disturbed.length);
    await fits(page);
    await picture(page, `swap-effects-controller-${size}`);
  },
);

flow(
  "a failed intrinsically safe module is replaced by one lent from a less important slot",
  async ({ page, size }) => {
    const { slot, lenders } = await safeSlotWithLenders(page);
    const [lender] = lenders;
    await page.goto(new URL(`/#/swap-new/${encodeURIComponent(slot.address)}`, page.url()).href);
    await page.getByTestId("lender").first().waitFor();
    const offered = await page
      .getByTestId("lender")
      .evaluateAll((all) => all.map((one) => one.dataset.slot));
    assert.deepEqual(
      offered,
      lenders.map((one) => one.slot),
      "the cheapest comes first",
    );
    await fits(page);
    await picture(page, `swap-lenders-${size}`);
    const removal = { to: "bench", condition: "good" };
    await ask(page, "unit.remove", { unit: lender.unit.label, removal });

    await page.goto(
      new URL(
        `/#/swap-new/${encodeURIComponent(slot.address)}?unit=${lender.unit.label}`,
        page.url(),
      ).href,
    );
    const verdict = page.getByTestId("verdict");
    await verdict.waitFor();
    assert.equal(await verdict.getAttribute("data-passes"), "true");
    await page.getByTestId("in-order").click();
    await page.locator('[data-testid="finding"][data-rule="key"]').waitFor();
    const rules = await page
      .getByTestId("finding")
      .evaluateAll((all) => all.map((one) => one.dataset.rule));
    for (const rule of ["key", "intrinsic-safety", "entity", "swap-supply", "swap-heat"])
      assert.ok(rules.includes(rule), `${rule} is among ${rules}`);
    await fits(page);
    await picture(page, `swap-lent-${size}`);
  },
);

flow("a spare shows where it fits", async ({ page, size }) => {
  const { storerooms } = await ask(page, "stock.shelf");
  const units = storerooms.flatMap(({ bins }) => bins).flatMap((bin) => bin.units);
  const spare = units.find(({ key, condition }) => key && condition === "good");
  const known = await ask(page, "swap.fits", { unit: spare.label });
  await page.goto(new URL(`/#/unit/${spare.label}`, page.url()).href);
  await page.getByTestId("to-fits").click();
  await page.getByTestId("fits-message").waitFor();
  assert.equal(await page.getByTestId("fit").count(), known.slots.length);
  await fits(page);
  await picture(page, `swap-fits-${size}`);
});

/** A slot whose unit stands on its own base, with a spare that may go in. */
async function ownBase(page) {
  for (const { address } of await ask(page, "place.cabinets")) {
    const { rails } = await ask(page, "place.cabinet", { cabinet: address });
    for (const { slot } of rails.flatMap(({ items }) => items)) {
      if (!slot?.unit || slot.key) continue;
      const [spare] = await ask(page, "swap.candidates", { slot: slot.address });
      if (!spare) continue;
      const input = { slot: slot.address, unit: spare.unit.label };
      const { steps } = await ask(page, "swap.check", input);
      if (steps.some(({ photo }) => photo)) return { input, steps };
    }
  }
  throw new Error("no slot of the sample site holds such a unit with a spare");
}

/** Gives what a step asks for that is no scan, with the fields that a person uses. */
async function give(page, here, step) {
  if (step.photo) {
    const file = { name: "wiring.png", mimeType: "image/png", buffer: PHOTO };
    return here.getByTestId("step-photo").setInputFiles(file);
  }
  if (step.reading) await here.getByTestId("step-reading").fill(String(step.reading.low + 1));
  if (step.second_person) await here.getByTestId("step-second").fill("Technician 2");
  return here.getByTestId("tick").click();
}

/** Ticks steps on the screen until so many are done. */
async function walk(page, swap, until) {
  for (;;) {
    const { steps, next_step } = await ask(page, "swap.show", { swap });
    if (next_step === null || next_step > until) return;
    const step = steps[next_step - 1];
    const here = page
      .locator('[data-testid="step"][data-now="true"]')
      .filter({ hasText: step.text });
    await here.waitFor();
    if (step.scan) await scan(page, step.scan_label);
    else await give(page, here, step);
    await here.waitFor({ state: "detached" });
  }
}

/** A picture of one pixel. */
const PHOTO = Buffer.from(
  "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==",
  "base64",
);

/** Ticks every step as it comes; at the first that wants a label, a wrong one must not do. */
async function walkSteps(page) {
  let refused = false;
  for (;;) {
    const { swap } = (await ask(page, "swap.open"))[0];
    const { steps, next_step } = await ask(page, "swap.show", { swap });
    if (next_step === null) break;
    const step = steps[next_step - 1];
    const here = page
      .locator('[data-testid="step"][data-now="true"]')
      .filter({ hasText: step.text });
    await here.waitFor();
    if (!step.scan) await give(page, here, step);
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

async function controllerSlot(page) {
  const units = await ask(page, "battery.list");
  const one = units.find(({ unit }) => unit.model === "MP-CP2");
  return one.unit.place;
}

async function safeSlotWithLenders(page) {
  for (const { address } of await ask(page, "place.cabinets")) {
    const { rails } = await ask(page, "place.cabinet", { cabinet: address });
    const slots = rails.flatMap(({ items }) => items).flatMap(({ slot }) => slot ?? []);
    for (const slot of slots.filter(({ base, unit }) => base === "intrinsically_safe" && unit)) {
      const lenders = await ask(page, "swap.lenders", { slot: slot.address });
      if (lenders.length > 0) return { slot, lenders };
    }
  }
  throw new Error("no intrinsically safe slot of the sample site could be helped");
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
