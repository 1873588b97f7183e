// The rules as the site keeps them, reached from what they find.

import assert from "node:assert/strict";
import { ask, fits, flow, picture } from "./harness.mjs";

flow("the rules are read from a finding of a line-up", async ({ page, size }) => {
  const rules = await ask(page, "lineup.rules", {});
  const swaps = await ask(page, "swap.rules", {});
  await page.goto(new URL("/#/lineup/%2BK12", page.url()).href);
  await page.getByTestId("lineup").waitFor();
  const finding = page.locator('[data-testid="finding"][data-rule="vital-still-made"]').first();
  await finding.waitFor();
  await finding.getByText("added by this site").waitFor();
  await picture(page, `rules-finding-${size}`);
  await finding.getByTestId("rule-link").click();
  const own = page.locator('[data-testid="rule"][data-rule="vital-still-made"]');
  await own.waitFor();
  await page.waitForFunction(() => {
    const at = document.querySelector('[data-rule="vital-still-made"]').getBoundingClientRect();
    return at.top >= 0 && at.top < window.innerHeight;
  });
  await own.getByText("criticality of the slot is vital").waitFor();
  await own.getByText("lifecycle of the model is active").waitFor();
  const shown = page.getByTestId("rule");
  assert.equal(await shown.count(), rules.length + swaps.length);
  await picture(page, `rules-own-${size}`);
  await fits(page);

  const budget = page.locator('[data-testid="rule"][data-rule="supply-budget"]');
  await budget.getByText("Set by this site").waitFor();
  await budget.getByText("15 %", { exact: true }).waitFor();
  await budget.getByText("(as it came: 0 %)").waitFor();
  const key = page.locator('[data-testid="rule"][data-rule="key"]');
  await key.getByText("Fixed", { exact: true }).waitFor();
  await page.getByTestId("rule-facts").click();
  await page.locator('[data-fact="spare_firmware"]').waitFor();
  const facts = await ask(page, "rule.facts", {});
  assert.equal(await page.getByTestId("fact").count(), facts.length);
  await page.evaluate(() => window.scrollTo(0, 0));
  await picture(page, `rules-${size}`);
  await fits(page);
});

flow("the rules are read from a verdict, and one that is gone is said", async ({ page, size }) => {
  await page.goto(new URL("/#/rules/no-such-rule", page.url()).href);
  await page.getByTestId("rule-gone").waitFor();
  await page.goto(new URL("/#/lineup/%2BK12", page.url()).href);
  await page.getByTestId("rules-open").click();
  const own = page.locator('[data-testid="rule"][data-rule="vital-firmware"]');
  await own.getByText("firmware of the spare is at least 1.1").waitFor();
  await page.getByTestId("rules-change").waitFor();
  await page.getByTestId("rules-otherwise").getByText("vital-firmware").click();
  await page.waitForFunction(() => location.hash.endsWith("/vital-firmware"));
  await picture(page, `rules-top-${size}`);
  await fits(page);

  const { slot, unit } = await vitalSlot(page);
  const address = `/#/swap-new/${encodeURIComponent(slot)}?unit=${unit}`;
  await page.goto(new URL(address, page.url()).href);
  await page.getByTestId("verdict").waitFor();
  const inOrder = page.getByTestId("in-order");
  if (await inOrder.count()) await inOrder.click();
  const finding = page.locator('[data-testid="finding"][data-rule="vital-firmware"]');
  await finding.scrollIntoViewIfNeeded();
  await picture(page, `rules-verdict-${size}`);
  await finding.getByTestId("rule-link").click();
  await own.waitFor();
});

/** A vital slot and a spare that its own rule has something to say about. */
async function vitalSlot(page) {
  for (const { address } of await ask(page, "place.cabinets", {})) {
    const { rails } = await ask(page, "place.cabinet", { cabinet: address });
    const items = rails.flatMap((rail) => rail.items).filter((item) => item.slot);
    for (const { slot } of items) {
      const found = await ask(page, "swap.candidates", { slot: slot.address });
      for (const { unit } of found) {
        const check = await ask(page, "swap.check", { slot: slot.address, unit: unit.label });
        if (check.findings.some(({ rule }) => rule === "vital-firmware"))
          return { slot: slot.address, unit: unit.label };
      }
    }
  }
  throw new Error("no vital slot has a spare");
}
