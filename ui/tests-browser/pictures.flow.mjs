// Pictures of labels: chosen, pasted and dropped, and what the screen makes of them.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { ask, flow, picture, visit } from "./harness.mjs";
import { photo, scene, stick, wipe } from "./scene.mjs";

/** Labels of units along a rail with many, in order, and what they look like. */
async function rail(page, count) {
  for (const { address } of await ask(page, "place.cabinets")) {
    const { rails } = await ask(page, "place.cabinet", { cabinet: address });
    for (const { items } of rails) {
      const units = items.filter(({ slot }) => slot?.unit).map(({ slot }) => slot.unit);
      if (units.length < count) continue;
      const things = units.slice(0, count).map(({ label }) => label);
      const lines = await ask(page, "label.list", { things });
      return things.map((label) => lines.find((line) => line.label === label));
    }
  }
  throw new Error("no rail has so many units");
}

async function railPhoto(site, name, labels, change = () => {}) {
  const wall = scene(1600, 900);
  labels.forEach((label, at) => label && stick(wall, label, 160 + at * 210, 460, 5));
  change(wall);
  return photo(site.folder, name, wall);
}

/** Pastes or drops a picture on whatever has the focus, as a person would. */
async function hand(page, how, path) {
  const bytes = [...(await readFile(path))];
  await page.evaluate(
    ([how, bytes]) => {
      const data = new DataTransfer();
      data.items.add(new File([new Uint8Array(bytes)], "picture.png", { type: "image/png" }));
      const target = document.activeElement ?? document.body;
      const init = { bubbles: true, cancelable: true };
      if (how === "paste")
        return target.dispatchEvent(new ClipboardEvent("paste", { ...init, clipboardData: data }));
      target.dispatchEvent(new DragEvent("dragover", { ...init, dataTransfer: data }));
      return (
        how === "drop" &&
        target.dispatchEvent(new DragEvent("drop", { ...init, dataTransfer: data }))
      );
    },
    [how, bytes],
  );
}

for (const how of ["paste", "drop"]) {
  flow(`a picture can be handed over by ${how} on any screen`, async ({ page, site, size }) => {
    const labels = await rail(page, 2);
    const path = await railPhoto(site, "two", labels);
    await visit(page, "batteries");
    await page.locator("h1").waitFor();
    if (how === "drop") {
      await hand(page, "hold", path);
      await page.getByTestId("drop-here").waitFor();
      await picture(page, `drop-${size}`);
    }
    await hand(page, how, path);
    const found = page.getByTestId("photo-found").getByTestId("thing");
    await found.first().waitFor();
    assert.equal(await found.count(), 2);
    assert.equal(await page.getByTestId("drop-here").count(), 0);
  });
}

flow(
  "a picture answers the question of the screen that asks for a label",
  async ({ page, site }) => {
    const [label] = await rail(page, 1);
    const path = await railPhoto(site, "one", [label]);
    await visit(page, "swaps");
    await page.getByTestId("scan-slot").waitFor();
    await hand(page, "paste", path);
    await page.waitForURL(/swap-new/);
  },
);

flow("each label of a picture says how it was read", async ({ page, site, size }) => {
  const labels = await rail(page, 5);
  const path = await railPhoto(site, "states", labels, (wall) => {
    // A cable hides the middle of one label, more than its correction can mend.
    wipe(wall, 160 + 2 * 210 - 60, 460 - 22, 120, 44);
  });
  await visit(page, "read");
  await page.getByTestId("read-photo").setInputFiles(path);
  const found = page.getByTestId("photo-found").getByTestId("thing");
  await found.first().waitFor();
  const states = await found.evaluateAll((all) => all.map(({ dataset }) => dataset.state));
  assert.deepEqual(states, ["read", "read", "confirm", "read", "read"]);
  await picture(page, `states-${size}`);
  await page.getByTestId("confirm-yes").click();
  await page
    .getByTestId("unit-card")
    .getByText(labels[2].label_human ?? labels[2])
    .first()
    .waitFor();
});

flow("a rail's picture is held against the register", async ({ page, site, size }) => {
  const labels = await rail(page, 7);
  const order = [0, 1, 3, 2, 4, null, 6].map((at) => (at === null ? null : labels[at]));
  const path = await railPhoto(site, "rail", order);
  await visit(page, "read");
  await page.getByTestId("read-photo").setInputFiles(path);
  const rows = page.getByTestId("rail-row");
  await rows.first().waitFor();
  const verdicts = await rows.evaluateAll((all) => all.map(({ dataset }) => dataset.verdict));
  const filled = verdicts.filter((verdict) => verdict !== "empty");
  assert.deepEqual(filled, ["agrees", "agrees", "other", "other", "agrees", "not_seen", "agrees"]);
  const said = await rows.filter({ hasText: "should carry" }).first().textContent();
  assert.match(
    said,
    /slot \+K.* should carry .*, the photo shows .*, which the register has in \+K/i,
  );
  await picture(page, `rail-seen-${size}`);
});

flow(
  "a picture of the dark screen",
  async ({ page, site, size }) => {
    const labels = await rail(page, 7);
    const order = [0, 1, 3, 2, 4, null, 6].map((at) => (at === null ? null : labels[at]));
    const path = await railPhoto(site, "dark", order);
    await visit(page, "read");
    await page.getByTestId("read-photo").setInputFiles(path);
    await page.getByTestId("rail-row").first().waitFor();
    await picture(page, `rail-seen-dark-${size}`);
  },
  { context: { colorScheme: "dark" } },
);

flow("the label of a scrapped unit says so before anything else", async ({ page, size }) => {
  const shelf = await ask(page, "stock.shelf");
  const bins = shelf.storerooms.flatMap(({ bins }) => bins);
  const unit = bins.flatMap(({ units }) => units)[0];
  await ask(page, "unit.move", {
    unit: unit.label,
    to: "scrapped",
    condition: "failed",
    reason: "burnt",
  });
  await visit(page, "read");
  await page.getByTestId("read-field").fill(unit.label_human);
  await page.getByTestId("read-go").click();
  const thing = page.getByTestId("thing");
  await thing.waitFor();
  assert.equal(await thing.getAttribute("data-state"), "scrapped");
  assert.match(await thing.textContent(), /Scrapped.*must not be fitted/s);
  await picture(page, `scrapped-${size}`);
});

flow("what is no picture gets its answer wherever it is dropped", async ({ page }) => {
  await visit(page, "cabinets");
  await page.getByTestId("cabinet-row").first().waitFor();
  await page.evaluate(() => {
    const data = new DataTransfer();
    data.items.add(new File(["a,b"], "slots.csv", { type: "text/csv" }));
    document.body.dispatchEvent(
      new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer: data }),
    );
  });
  await page.locator("main").getByTestId("failure").getByText("no image").waitFor();
});
