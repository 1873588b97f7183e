// One list of cautions opens every procedure, on every screen that work is done by.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { ask, fits, flow, picture, ROOT } from "./harness.mjs";

flow("the same cautions open each procedure", async ({ page, size }) => {
  const { cautions } = JSON.parse(await readFile(join(ROOT, "schemas/api.json"), "utf8"));
  assert.equal(cautions.length, 6);
  const [cabinet] = await ask(page, "place.cabinets");
  const [battery] = await ask(page, "battery.list");
  const { swap, input } = await begun(page);
  const screens = {
    verdict: `swap-new/${encodeURIComponent(input.slot)}?unit=${input.unit}`,
    swap: `swap/${swap}`,
    battery: `battery/${battery.unit.label}`,
    labels: `labels?cabinet=${encodeURIComponent(cabinet.address)}`,
  };
  for (const [name, screen] of Object.entries(screens)) {
    await page.goto(new URL(`/#/${screen}`, page.url()).href);
    const box = page.getByTestId("cautions").first();
    await box.waitFor();
    const said = await box.locator("li").allTextContents();
    for (const caution of cautions)
      assert.ok(said.includes(caution), `${name} lacks "${caution}" and says ${said}`);
    await fits(page);
    await picture(page, `cautions-${name}-${size}`);
  }
});

/** A swap under way, and another one that may be begun. */
async function begun(page) {
  const found = [];
  for (const { address } of await ask(page, "place.cabinets")) {
    const { rails } = await ask(page, "place.cabinet", { cabinet: address });
    for (const { slot } of rails.flatMap(({ items }) => items)) {
      if (!slot?.unit) continue;
      const spares = await ask(page, "swap.candidates", { slot: slot.address });
      const spare = spares.find(({ unit }) => found.every((other) => other.unit !== unit.label));
      if (spare) found.push({ slot: slot.address, unit: spare.unit.label });
      if (found.length < 2) continue;
      const { swap } = await ask(page, "swap.start", found[0]);
      return { swap, input: found[1] };
    }
  }
  throw new Error("the sample site has no two slots with a spare each");
}
