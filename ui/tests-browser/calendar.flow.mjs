// The calendar of visits, as a file and as an address that can be withdrawn.

import assert from "node:assert/strict";
import { fits, flow, picture, saved } from "./harness.mjs";

flow("the visits come as a calendar, also from an address until it is withdrawn", async ({ page, size }) => {
  await page.goto(new URL("/#/batteries?view=plan", page.url()).href);
  const calendar = await saved(page, () => page.getByTestId("calendar").click());
  assert.match(calendar.toString(), /^BEGIN:VCALENDAR/);
  const sheet = await saved(page, () => page.getByTestId("work-list").click());
  assert.equal(sheet.subarray(0, 5).toString(), "%PDF-");

  await page.getByTestId("calendar-address").click();
  await page.getByTestId("make-calendar-address").click();
  const address = await page.getByTestId("calendar-path").textContent();
  await fits(page);
  await picture(page, `calendar-address-${size}`);
  const answer = await fetch(address);
  assert.equal(answer.status, 200, "the address needs nothing but itself");
  assert.match(await answer.text(), /^BEGIN:VCALENDAR/);
  const spoiled = await fetch(address.replace(/.\.ics$/, "~.ics"));
  assert.notEqual(spoiled.status, 200);

  await page.goto(new URL("/#/people", page.url()).href);
  const devices = page.getByTestId("devices").locator("li").filter({ hasText: /calendar/ });
  await devices.locator("summary").click();
  await devices.locator("form input").fill("Shown to too many");
  await devices.locator("form button").click();
  await devices.getByText("withdrawn", { exact: true }).waitFor();
  await fits(page);
  await picture(page, `devices-${size}`);
  assert.notEqual((await fetch(address)).status, 200, "a withdrawn address gives nothing");
});
