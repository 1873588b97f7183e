// What is seen of batteries and cabinets, recorded where it is seen.

import assert from "node:assert/strict";
import { ask, fits, flow, picture } from "./harness.mjs";

flow("a lit lamp and a hot cabinet are recorded where they are seen", async ({ page, size }) => {
  const line = (await ask(page, "battery.list")).find(({ due_on, cabinet }) => due_on && cabinet);
  const { label } = line.unit;
  await page.goto(new URL(`/#/unit/${label}`, page.url()).href);
  await page.getByTestId("battery-seen").click();
  await page.getByTestId("lamp-lit").check();
  await page.getByTestId("seen-mv").fill("3310");
  await page.getByTestId("seen-send").click();
  await page.getByTestId("done").waitFor();
  const [seen] = await ask(page, "journal.list", { subject: label });
  assert.match(seen.message, /3310 mV/);
  await page.getByTestId("lamp-dark").check();
  await page.getByTestId("seen-send").click();
  await page.getByTestId("battery-seen").click();
  await picture(page, `unit-seen-${size}`);

  await page.goto(new URL(`/#/cabinet/${encodeURIComponent(line.cabinet)}`, page.url()).href);
  await page.getByTestId("temperature-read").click();
  await page.getByTestId("temperature").fill("41.5");
  await page.getByTestId("temperature-send").click();
  await page.getByTestId("done").waitFor();
  await fits(page);
  await picture(page, `cabinet-read-${size}`);
  const [read] = await ask(page, "journal.list", { subject: line.cabinet });
  assert.match(read.message, /41\.5 °C/);
});
