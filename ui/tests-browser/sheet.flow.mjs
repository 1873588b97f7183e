// Label sheets: the page before it is printed, printers that are off, and the print graded.

import assert from "node:assert/strict";
import { execFile } from "node:child_process";
import { join } from "node:path";
import { promisify } from "node:util";
import { ask, flow, picture } from "./harness.mjs";

async function labelsOfACabinet(page) {
  const [{ address }] = await ask(page, "place.cabinets");
  await page.goto(new URL(`/#/labels?cabinet=${encodeURIComponent(address)}`, page.url()).href);
  await page.getByTestId("label-preview").getByTestId("label").first().waitFor();
}

flow("a sheet begun before starts at the label that is pointed at", async ({ page, size }) => {
  await labelsOfACabinet(page);
  await page.getByTestId("label-format").selectOption("a4-46x21-48");
  await page.getByTestId("place-48").waitFor();
  await page.getByTestId("place-47").click();
  assert.equal(await page.getByTestId("label-start").inputValue(), "47");
  const first = page.getByTestId("label-preview").getByTestId("label");
  await page.waitForFunction(() => document.querySelectorAll("[data-testid=label]").length === 2);
  assert.equal(await first.count(), 2);
  await page.getByTestId("page-after").click();
  await page.waitForFunction(() => document.querySelectorAll("[data-testid=label]").length > 2);
  await picture(page, `sheet-${size}`);
});

flow("a distance that cannot be met is answered and not printed", async ({ page, size }) => {
  await labelsOfACabinet(page);
  await page.getByTestId("label-distance").fill("900");
  await page.locator("main").getByTestId("failure").waitFor();
  assert.equal(await page.getByTestId("label-preview").count(), 0);
  assert.equal(await page.getByTestId("label-download").isDisabled(), true);
  await picture(page, `too-far-${size}`);
});

flow("a printer that is off is put right by four figures", async ({ page, size }) => {
  await labelsOfACabinet(page);
  await page.getByTestId("printer-off").click();
  const figures = { left: "20.8", top: "19.5", across: "169", down: "248.5" };
  for (const [name, value] of Object.entries(figures)) {
    await page.getByTestId(`measured-${name}`).fill(value);
  }
  await page.getByTestId("reckon").click();
  await page.getByTestId("test-page-corrected").waitFor();
  // 170 / 169, and 20 - 20.8 × 170 / 169.
  assert.equal(await page.getByTestId("correction-scale_x").inputValue(), "1.0059");
  assert.equal(await page.getByTestId("correction-offset_x_mm").inputValue(), "-0.9231");
  await picture(page, `printer-off-${size}`);
});

flow("a printed label is graded from its picture", async ({ page, site, size }) => {
  await labelsOfACabinet(page);
  const saved = page.waitForEvent("download");
  await page.getByTestId("label-download").click();
  const pdf = join(site.folder, "labels.pdf");
  await (await saved).saveAs(pdf);
  const png = join(site.folder, "labels");
  await promisify(execFile)("pdftoppm", ["-r", "150", "-png", "-singlefile", pdf, png]);
  await page.getByTestId("to-quality").click();
  await page.getByTestId("quality-photo").setInputFiles(`${png}.png`);
  await page.getByTestId("quality-label").first().waitFor();
  assert.equal(await page.getByTestId("quality-letter").first().innerText(), "A");
  await picture(page, `quality-${size}`);
});
