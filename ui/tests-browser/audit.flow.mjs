// A rail audited by photo: two modules exchanged, one label missing, each settled with a tap.

import assert from "node:assert/strict";
import { ask, fits, flow, picture } from "./harness.mjs";
import { photo, scene, stick } from "./scene.mjs";

const RAIL = "+K11.1";
const PX_PER_MM = 6;

/** The slots of the rail with the labels of what stands in them. */
async function rail(page) {
  const { rails } = await ask(page, "place.cabinet", { cabinet: "+K11" });
  const items = rails.find(({ address }) => address === RAIL).items.filter(({ slot }) => slot);
  const things = items.map(({ slot }) => slot.unit?.label).filter(Boolean);
  const labels = await ask(page, "label.list", { things });
  return items.map(({ slot, x_mm, width_mm }) => ({
    slot: slot.address,
    middle_mm: x_mm + width_mm / 2,
    unit: slot.unit,
    label: labels.find(({ label }) => label === slot.unit?.label),
  }));
}

/** A photo of these places from `from_mm` to `to_mm` of the rail. */
function taken(site, name, places, from_mm, to_mm) {
  const wall = scene(Math.round((to_mm - from_mm) * PX_PER_MM), 600);
  for (const { label, middle_mm } of places)
    if (label) stick(wall, label, (middle_mm - from_mm) * PX_PER_MM, 300, 4);
  return photo(site.folder, name, wall);
}

const row = (page, slot) => page.locator(`[data-testid="audit-slot"][data-slot="${slot}"]`);

flow("a rail is audited by photo and settled with taps", async ({ page, site, size }) => {
  const places = await rail(page);
  const [a, b, bare] = [places[6], places[7], places[10]];
  const as_registered = [a.unit.label, b.unit.label];
  [a.label, b.label] = [b.label, a.label];
  bare.label = undefined;

  await page.goto(new URL("/#/cabinet/%2BK11", page.url()).href);
  await page.getByTestId("audit-rail").click();
  await page.getByTestId("audit-begin").click();
  // Two photos that overlap; the last slots are in none.
  await page
    .getByTestId("audit-photos")
    .setInputFiles([
      await taken(site, "left", places, 0, 300),
      await taken(site, "right", places, 200, 470),
    ]);
  await page.getByTestId("audit-look").waitFor();
  await page.getByTestId("audit-photo-list").locator("li").nth(1).waitFor();
  await page.locator('[data-testid="audit-summary"][data-open="3"]').waitFor();
  await fits(page);
  await picture(page, `audit-look-${size}`);
  assert.equal(await row(page, a.slot).getAttribute("data-found"), "exchanged");
  assert.equal(await row(page, bare.slot).getAttribute("data-found"), "missing");
  assert.equal(await row(page, places[15].slot).getAttribute("data-found"), "not_covered");

  // A reload loses nothing.
  await page.reload();
  await page.locator('[data-testid="audit-summary"][data-open="3"]').waitFor();
  await page.getByTestId("audit-record").click();
  await page.getByTestId("audit-slots").waitFor();
  // The narrowest phone there is to be ready for.
  if (size === "phone") await page.setViewportSize({ width: 360, height: 740 });
  await fits(page);
  await picture(page, `audit-open-${size}`);

  await row(page, a.slot).getByTestId("way-exchanged").click();
  await row(page, b.slot).getByTestId("audit-settled").waitFor();
  // What no photo tells is asked, and one tap answers.
  await row(page, bare.slot).getByTestId("audit-ask").waitFor();
  await row(page, bare.slot).getByTestId("way-stands").click();
  await page.locator('[data-testid="audit-summary"][data-open="0"]').waitFor();
  await fits(page);
  await picture(page, `audit-settled-${size}`);
  const card = await ask(page, "unit.card", { unit: as_registered[0] });
  assert.equal(card.unit.place, b.slot);

  // The history of the slot shows it, with the photo.
  await page.goto(new URL(`/#/slot/${encodeURIComponent(a.slot)}`, page.url()).href);
  await page.getByTestId("show-kept-photo").first().click();
  await page.getByTestId("kept-photo").waitFor();
  await fits(page);
  await picture(page, `audit-history-${size}`);
  await page.goto(new URL("/#/cabinet/%2BK11", page.url()).href);
  await page.getByTestId("audit-last").getByText("Audited").waitFor();
  await picture(page, `audit-cabinet-${size}`);
});

flow(
  "what is settled without a connection waits and is sent later",
  async ({ page, site, size }) => {
    const places = await rail(page);
    places[12].label = undefined;
    await page.goto(new URL(`/#/audit/${encodeURIComponent(RAIL)}`, page.url()).href);
    await page.getByTestId("audit-begin").click();
    await page.getByTestId("audit-keep").uncheck();
    await page.getByTestId("audit-photo").setInputFiles(await taken(site, "all", places, 0, 540));
    await page.getByTestId("audit-record").click();
    const open = row(page, places[12].slot);
    await open.getByTestId("way-not_there").waitFor();
    await page.context().setOffline(true);
    await open.getByTestId("way-not_there").click();
    await open.getByTestId("audit-slot-waits").waitFor();
    await picture(page, `audit-offline-${size}`);
    await page.context().setOffline(false);
    await open.getByTestId("audit-settled").waitFor();
    const card = await ask(page, "unit.card", { unit: places[12].unit.label });
    assert.equal(card.unit.place, "lost");
  },
);

flow("what two labels cannot tell is asked, and photos that are given up go", async (walk) => {
  const { page, site, size } = walk;
  const places = await rail(page);
  places.forEach((place, at) => ![4, 7].includes(at) && (place.label = undefined));
  await page.goto(new URL(`/#/audit/${encodeURIComponent(RAIL)}`, page.url()).href);
  await page.getByTestId("audit-begin").click();
  await page.getByTestId("audit-photo").setInputFiles(await taken(site, "two", places, 0, 540));
  await page.getByTestId("audit-look").waitFor();
  assert.equal(await row(page, places[4].slot).getAttribute("data-found"), "place_unsure");
  await fits(page);
  await picture(page, `audit-unsure-${size}`);
  const kept = await page.evaluate(() => localStorage.getItem("slotkeep.audits.1"));
  const [{ photo }] = Object.values(JSON.parse(kept))[0].photos;
  const dropped = page.waitForResponse((reply) => reply.url().endsWith("/photo.drop"));
  await page.getByTestId("audit-drop").click();
  assert.equal((await (await dropped).json()).dropped, 1);
  await assert.rejects(ask(page, "photo.show", { photo }), /no photo is kept/);
});

flow("a file that is no photo is told and the others stay", async ({ page, site }) => {
  const places = await rail(page);
  await page.goto(new URL(`/#/audit/${encodeURIComponent(RAIL)}`, page.url()).href);
  await page.getByTestId("audit-begin").click();
  await page.getByTestId("audit-photo").setInputFiles(await taken(site, "all", places, 0, 540));
  await page.locator('[data-testid="audit-summary"][data-open="0"]').waitFor();
  await page.getByTestId("audit-photo").setInputFiles({
    name: "photo.jpg",
    mimeType: "image/jpeg",
    buffer: Buffer.from("this is no picture"),
  });
  await page.locator("main").getByTestId("failure").waitFor();
  assert.equal(await page.getByTestId("audit-photo-list").locator("li").count(), 1);
});

flow("what cannot be is said before it is tapped, and may be left open", async (walk) => {
  const { page, site, size } = walk;
  const places = await rail(page);
  // Keys of different letters: these two cannot stand in each other's slots.
  const [a, b] = [places[2], places[3]];
  [a.label, b.label] = [b.label, a.label];
  await page.goto(new URL(`/#/audit/${encodeURIComponent(RAIL)}`, page.url()).href);
  await page.getByTestId("cautions").waitFor();
  await picture(page, `audit-begin-${size}`);
  await page.getByTestId("audit-begin").click();
  await page.getByTestId("audit-photo").setInputFiles(await taken(site, "all", places, 0, 540));
  await page.getByTestId("audit-look").waitFor();
  await page.context().setOffline(true);
  await page.getByTestId("audit-record").click();
  await page.getByTestId("audit-waits").waitFor();
  await picture(page, `audit-waits-${size}`);
  await page.context().setOffline(false);
  await page.getByTestId("audit-slots").waitFor();
  await row(page, a.slot).getByTestId("way-refused").waitFor();
  assert.ok(await row(page, a.slot).getByTestId("way-exchanged").isDisabled());
  await row(page, a.slot).getByTestId("way-left_open").click();
  await row(page, a.slot).getByTestId("audit-note").fill("Labels look swapped; shift lead asked");
  await row(page, a.slot).getByTestId("audit-note-send").click();
  await row(page, a.slot).getByTestId("audit-settled").waitFor();
  await row(page, a.slot).getByTestId("audit-to-swap").click();
  await fits(page);
  await picture(page, `audit-refused-${size}`);
  await row(page, b.slot).getByTestId("way-stands").click();
  await page.locator('[data-testid="audit-summary"][data-open="1"]').waitFor();
});
