// Reading with a live camera: the browser's own is replaced by a film.

import assert from "node:assert/strict";
import { ask, flow, picture, visit } from "./harness.mjs";
import { film, scene, stick } from "./scene.mjs";

const things = new WeakMap();

/** Labels of units that stand on one rail, in the order of the rail. */
async function onRail(site, count) {
  const [{ address }] = await site.ask("place", "cabinets");
  const { rails } = await site.ask("place", "cabinet", "--cabinet", address);
  const rail = rails.find(({ items }) => items.filter(({ slot }) => slot?.unit).length >= count);
  const units = rail.items.filter(({ slot }) => slot?.unit).slice(0, count);
  const labels = units.map(({ slot }) => slot.unit.label);
  const lines = await site.ask("label", "list", ...labels.flatMap((label) => ["--things", label]));
  return labels.map((label) => lines.find((line) => line.label === label));
}

const one = async (site) => {
  const [label] = await onRail(site, 1);
  things.set(site, [label]);
  const wall = scene(1920, 1080);
  stick(wall, label, 960, 540, 9);
  return film(site.folder, "one", wall);
};

/** Labels beside the aiming frame or within it, none of them alone. */
const several = async (site) => {
  const labels = await onRail(site, 3);
  things.set(site, labels);
  const wall = scene(1920, 1080);
  labels.forEach((label, at) => stick(wall, label, 700 + at * 260, 540, 6));
  return film(site.folder, "several", wall);
};

/** A rail without an end: labels that no frame has alone, so that reading never stops. */
const rail = async (site) => {
  const labels = await onRail(site, 5);
  const wall = scene(1920, 1080);
  labels.forEach((label, at) => stick(wall, label, 300 + at * 330, 540, 5));
  return film(site.folder, "rail", wall);
};

flow(
  "a label held into the live camera opens by itself",
  async ({ page, site }) => {
    await visit(page, "read");
    await page.getByTestId("live").click();
    const [{ label_human }] = things.get(site);
    await page.getByTestId("unit-card").getByText(label_human).waitFor();
  },
  { camera: one },
);

flow(
  "several labels are outlined and named, and the one that is tapped opens",
  async ({ page, site, size }) => {
    await visit(page, "read");
    await page.getByTestId("live").click();
    const labels = things.get(site);
    await page.getByTestId("live-several").waitFor();
    await page.getByTestId("live-label").nth(2).waitFor();
    await picture(page, `live-several-${size}`);
    assert.equal(await page.getByTestId("unit-card").count(), 0, "nothing opens by itself");
    await page.getByTestId("live-label").nth(1).click({ force: true });
    await page.getByTestId("unit-card").getByText(labels[1].label_human).waitFor();
  },
  { camera: several },
);

flow(
  "frames are read without a pause, and how many a second is shown",
  async ({ page, size }) => {
    await visit(page, "read");
    await page.getByTestId("live").click();
    const eye = page.getByTestId("live-eye");
    await page.getByTestId("live-label").first().waitFor();
    await page.waitForTimeout(4000);
    const rates = [];
    for (let at = 0; at < 10; at++) {
      await page.waitForTimeout(300);
      rates.push(Number(await eye.getAttribute("data-per-second")));
    }
    rates.sort((a, b) => a - b);
    const px = await eye.getAttribute("data-frame-px");
    console.log(`${size}: ${rates[5]} readings a second (median), frames of ${px} px`);
    await picture(page, `live-rail-${size}`);
    assert.ok(rates[5] > 0, "frames are being read");
  },
  { camera: rail },
);

flow("without a camera it says so, and the photo button stays", async ({ page, size }) => {
  await visit(page, "read");
  await page.getByTestId("live").click();
  const said = page.getByTestId("camera-refused");
  await said.waitFor();
  assert.match(await said.textContent(), /No camera is connected|refused to this page/);
  assert.ok(await page.getByTestId("read-photo").count());
  await picture(page, `live-none-${size}`);
});
