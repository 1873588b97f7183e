// From a label to the thing: typed, scanned by a wedge scanner, and read from a printed picture.

import assert from "node:assert/strict";
import { execFile } from "node:child_process";
import { join } from "node:path";
import { promisify } from "node:util";
import { ask, flow, picture, scan, visit } from "./harness.mjs";

/** A unit that stands in a slot. */
async function standing(page) {
  const [{ address }] = await ask(page, "place.cabinets");
  const { rails } = await ask(page, "place.cabinet", { cabinet: address });
  return rails.flatMap(({ items }) => items).find(({ slot }) => slot?.unit).slot.unit;
}

flow("a label typed as people write it opens the unit's card", async ({ page }) => {
  const unit = await standing(page);
  await visit(page, "read");
  const loosely = unit.label_human.toLowerCase().replaceAll("-", " ").replaceAll("0", "o");
  await page.getByTestId("read-field").fill(loosely);
  await page.getByTestId("read-go").click();
  await page.getByTestId("unit-card").getByText(unit.label_human).waitFor();
});

flow("a misread character is told and opens nothing", async ({ page, size }) => {
  const unit = await standing(page);
  await visit(page, "read");
  const last = unit.label.at(-1);
  await page.getByTestId("read-field").fill(unit.label.slice(0, -1) + (last === "7" ? "8" : "7"));
  await page.getByTestId("read-go").click();
  const thing = page.locator("main").getByTestId("thing");
  await thing.waitFor();
  assert.equal(await thing.getAttribute("data-kind"), "damaged");
  assert.equal(await page.getByTestId("unit-card").count(), 0);
  await picture(page, `misread-${size}`);
});

flow("a wedge scanner opens the card from any screen", async ({ page }) => {
  const unit = await standing(page);
  await visit(page, "cabinets");
  await page.getByTestId("cabinet-row").first().waitFor();
  await scan(page, unit.label);
  await page.getByTestId("unit-card").getByText(unit.label_human).waitFor();
});

flow("a printed label is read back from its picture", async ({ page, site, size }) => {
  const unit = await standing(page);
  await page.goto(new URL(`/#/labels?things=${unit.label}`, page.url()).href);
  await page.getByTestId("label-preview").getByTestId("label").first().waitFor();
  await picture(page, `labels-${size}`);
  await page.getByTestId("label-format").selectOption("roll-50x25");
  const saved = page.waitForEvent("download");
  await page.getByTestId("label-download").click();
  const pdf = join(site.folder, "labels.pdf");
  await (await saved).saveAs(pdf);
  const page_png = join(site.folder, "label");
  await promisify(execFile)("pdftoppm", ["-r", "300", "-png", "-singlefile", pdf, page_png]);

  await visit(page, "read");
  await page.getByTestId("read-photo").setInputFiles(`${page_png}.png`);
  await page.getByTestId("photo-found").waitFor();
  const found = page.getByTestId("photo-found").getByTestId("thing");
  assert.equal(await found.count(), 1);
  await picture(page, `photo-${size}`);
  await found.first().click();
  await page.getByTestId("unit-card").getByText(unit.label_human).waitFor();
});

flow("a file that is no picture is told", async ({ page, site }) => {
  await visit(page, "read");
  await page.getByTestId("read-photo").setInputFiles({
    name: "photo.jpg",
    mimeType: "image/jpeg",
    buffer: Buffer.from("this is no picture"),
  });
  await page.locator("main").getByTestId("failure").waitFor();
  assert.equal(await page.getByTestId("photo-found").count(), 0);
});
