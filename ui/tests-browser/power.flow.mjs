// Power-offs: planned, looked at before anything is switched off, and settled afterwards.

import assert from "node:assert/strict";
import { ask, fits, flow, saved, picture, visit } from "./harness.mjs";

flow("a power-off is planned, and says which memories outlast it", async ({ page, size }) => {
  await visit(page, "batteries");
  await page.getByTestId("view-power").click();
  await page.getByTestId("plan-power").click();
  const [{ address }] = await ask(page, "place.cabinets");
  await page.getByTestId("power-scope").selectOption(address);
  await page.getByTestId("power-from").fill("2027-02-08T06:00");
  await page.getByTestId("power-to").fill("2027-02-10T06:00");
  await page.getByTestId("power-reason").fill("New busbar");
  await fits(page);
  await picture(page, `power-offs-${size}`);

  await page.getByTestId("power-try").click();
  await page.getByTestId("readiness-verdict").waitFor();
  const none = await ask(page, "battery.power_offs", { open: true });
  assert.ok(!none.some(({ reason }) => reason === "New busbar"), "looking plans nothing");
  await page.goBack();
  await page.getByTestId("plan-power").click();
  await page.getByTestId("power-scope").selectOption(address);
  await page.getByTestId("power-from").fill("2027-02-08T06:00");
  await page.getByTestId("power-to").fill("2027-02-10T06:00");
  await page.getByTestId("power-reason").fill("New busbar");
  await page.getByTestId("power-send").click();
  const line = page.getByTestId("power-off-line").filter({ hasText: "New busbar" });
  await line.waitFor();
  assert.equal(await line.getAttribute("data-state"), "planned");

  await line.getByTestId("readiness").click();
  const verdict = page.getByTestId("readiness-verdict");
  await verdict.waitFor();
  const lost = Number(await verdict.getAttribute("data-lost"));
  const shown = page.getByTestId("memory");
  assert.equal(await page.locator('[data-testid="memory"][data-survives="false"]').count(), lost);
  const here = await ask(page, "battery.list", { cabinet: address });
  assert.equal(await shown.count(), here.length, "every controller of the cabinet is judged");
  await page.getByText(/does not replace local codes/).waitFor();
  await fits(page);
  await picture(page, `readiness-cabinet-${size}`);
});

flow("the yearly stop: what to change first, and a page for the meeting", async ({ page, size }) => {
  const stop = (await ask(page, "battery.power_offs", { open: true })).find(
    ({ state }) => state === "planned",
  );
  assert.ok(stop, "the sample site plans a stop");
  await page.goto(new URL(`/#/power-off/${stop.entry}`, page.url()).href);
  await page.getByTestId("memory").first().waitFor();
  await fits(page);
  await picture(page, `readiness-${size}`);
  const bytes = await saved(page, () => page.getByTestId("readiness-sheet").click());
  assert.equal(bytes.subarray(0, 5).toString(), "%PDF-");
});

flow("a planned power-off is called off with a reason", async ({ page, size }) => {
  await page.goto(new URL("/#/batteries?view=power", page.url()).href);
  const line = page.getByTestId("power-off-line").first();
  await line.getByTestId("settle").click();
  await line.getByTestId("settle-off").check();
  await line.getByTestId("settle-send").click();
  const open = await ask(page, "battery.power_offs", { open: true });
  await line.getByTestId("settle-reason").fill("No crane");
  await picture(page, `settle-${size}`);
  await line.getByTestId("settle-send").click();
  await page.getByTestId("power-all").click();
  const off = page.locator('[data-testid="power-off-line"][data-state="called_off"]');
  await off.filter({ hasText: "No crane" }).waitFor();
  const left = await ask(page, "battery.power_offs", { open: true });
  assert.equal(left.length, open.length - 1, "without its reason nothing was called off");
});
