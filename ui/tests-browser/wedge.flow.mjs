// Scanners that type: on every screen, with and without a field, and people who only type fast.

import assert from "node:assert/strict";
import { ask, flow, scan, visit } from "./harness.mjs";

async function standing(page) {
  const [{ address }] = await ask(page, "place.cabinets");
  const { rails } = await ask(page, "place.cabinet", { cabinet: address });
  return rails.flatMap(({ items }) => items).find(({ slot }) => slot?.unit).slot.unit;
}

/** Types as a scanner does into whatever has the focus. */
async function scanHere(page, text, end = "Enter") {
  await Promise.all([...text, ...(end ? [end] : [])].map((key) => page.keyboard.press(key)));
}

const SCREENS = ["read", "cabinets", "batteries", "shelf", "orders", "labels", "journal", "people"];

flow("a scan opens its card from every screen", async ({ page }) => {
  const unit = await standing(page);
  for (const screen of SCREENS) {
    await page.goto(new URL(`/#/${screen}`, page.url()).href);
    await page.locator("h1").first().waitFor();
    await scan(page, unit.label);
    await page.getByTestId("unit-card").getByText(unit.label_human).waitFor();
  }
});

flow("a scan while a field has the focus leaves the field as it was", async ({ page }) => {
  const unit = await standing(page);
  for (const end of ["Enter", "Tab"]) {
    await page.goto(new URL("/#/read", page.url()).href);
    const field = page.getByTestId("read-field");
    await field.click();
    await field.pressSequentially("look at", { delay: 90 });
    // Keep what the field holds once the scan is through, before the screen goes.
    await field.evaluate((field) => field.addEventListener("input", () => (window.held = field.value)));
    await page.waitForTimeout(200);
    await scanHere(page, unit.label, end);
    await page.getByTestId("unit-card").getByText(unit.label_human).waitFor();
    assert.equal(await page.evaluate(() => window.held), "look at");
  }
});

flow("a scanner without an ending key is heard after a pause", async ({ page }) => {
  const unit = await standing(page);
  await visit(page, "cabinets");
  await page.getByTestId("cabinet-row").first().waitFor();
  await scanHere(page, unit.label, "");
  await page.getByTestId("unit-card").getByText(unit.label_human).waitFor();
});

flow("what a person types fast is a person's", async ({ page }) => {
  await visit(page, "read");
  const field = page.getByTestId("read-field");
  await field.click();
  await field.pressSequentially("look at this controller", { delay: 60 });
  await page.waitForTimeout(400);
  assert.equal(await field.inputValue(), "look at this controller");
  assert.match(page.url(), /#\/read$/);
});

flow("a held key is no scan", async ({ page }) => {
  await visit(page, "read");
  const field = page.getByTestId("read-field");
  await field.click();
  await page.evaluate(() => {
    const field = document.activeElement;
    for (let at = 0; at < 20; at++)
      field.dispatchEvent(new KeyboardEvent("keydown", { key: "a", bubbles: true, repeat: at > 0 }));
  });
  await page.waitForTimeout(300);
  assert.match(page.url(), /#\/read$/);
});
