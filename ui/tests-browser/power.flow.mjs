// Power-offs: planned, and settled afterwards.

import assert from "node:assert/strict";
import { ask, fits, flow, picture, visit } from "./harness.mjs";

flow("a power-off is planned for what was chosen, and has not happened before it ended", async ({ page, size }) => {
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
  await page.getByTestId("power-send").click();
  const line = page.getByTestId("power-off-line").filter({ hasText: "New busbar" });
  await line.waitFor();
  assert.equal(await line.getAttribute("data-state"), "planned");

  await line.getByTestId("settle").click();
  await line.getByTestId("settle-happened").check();
  assert.equal(await line.getByTestId("settle-from").inputValue(), "2027-02-08T06:00");
  await line.getByTestId("settle-send").click();
  await line.getByTestId("failure").getByText(/had not ended/).waitFor();
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
