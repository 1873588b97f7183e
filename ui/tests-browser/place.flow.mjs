// From the list of cabinets to a unit's card, as a technician finds a module.

import assert from "node:assert/strict";
import { ask, flow, picture, visit } from "./harness.mjs";

flow("a cabinet is drawn to scale and leads to the card of a unit", async ({ page, size }) => {
  const cabinets = await ask(page, "place.cabinets");
  await visit(page, "cabinets");
  await page.getByTestId("cabinet-row").first().waitFor();
  assert.equal(await page.getByTestId("cabinet-row").count(), cabinets.length);
  const { address } = cabinets[0];
  await page.getByTestId("cabinet-row").filter({ hasText: address }).first().click();
  await page.getByTestId("cabinet-picture").waitFor();
  await picture(page, `cabinet-${size}`);

  const drawing = await ask(page, "place.cabinet", { cabinet: address });
  const slots = drawing.rails.flatMap((rail) => rail.items).flatMap(({ slot }) => slot ?? []);
  const drawn = page.getByTestId("cabinet-picture").locator("[data-slot]");
  assert.equal(await drawn.count(), slots.length, "every slot is drawn");
  await scaleHolds(page, drawing);

  const filled = slots.find(({ unit }) => unit);
  await page.getByTestId("rail").first().click();
  await page.getByTestId("slot-row").filter({ hasText: filled.unit.model }).first().click();
  await page.getByTestId("unit-card").waitFor();
  await picture(page, `unit-${size}`);
});

/** Compares distances between the middles of slots on the screen with those in millimetres. */
async function scaleHolds(page, { rails }) {
  const slots = rails[0].items.filter(({ slot }) => slot);
  assert.ok(slots.length > 2, "the first rail has slots to compare");
  const middles_px = [];
  for (const { slot } of slots) {
    const box = await page.locator(`[data-slot="${slot.address}"] rect`).first().boundingBox();
    middles_px.push(box.x + box.width / 2);
  }
  const middles_mm = slots.map(({ x_mm, width_mm }) => x_mm + width_mm / 2);
  const share = (middles, at) => (middles[at] - middles[0]) / (middles.at(-1) - middles[0]);
  slots.forEach(({ slot }, at) => {
    const off = Math.abs(share(middles_px, at) - share(middles_mm, at));
    assert.ok(off < 0.005, `${slot.address} is drawn ${off} of the row away from its place`);
  });
}
