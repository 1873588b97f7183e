// Taking in a site folder: what an empty store says, what wrong rows do, and what is there after.

import assert from "node:assert/strict";
import { readFile, readdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { ask, flow, picture, ROOT } from "./harness.mjs";

const SAMPLE = join(ROOT, "sample-site");

async function choose(page, folder) {
  const names = (await readdir(folder)).filter((name) => /\.(csv|json)$/.test(name));
  await page.getByTestId("choose-files").setInputFiles(names.map((name) => join(folder, name)));
}

flow(
  "an empty store says what to do first and takes in a site folder",
  async ({ page, size }) => {
    await page.getByTestId("empty-store").waitFor();
    await picture(page, `empty-${size}`);
    await choose(page, SAMPLE);
    await page.getByTestId("take-in").click();
    await page.getByTestId("empty-store").waitFor({ state: "detached" });
    await page.goto(new URL("/#/", page.url()).href);
    await page.getByTestId("attention").waitFor();
    await picture(page, `home-${size}`);
    const { counts, name } = await ask(page, "site.summary");
    const rows = (await readFile(join(SAMPLE, "slots.csv"), "utf8")).trim().split("\n").length - 1;
    assert.equal(counts.slots, rows, "every row of slots.csv is a slot");
    await page.getByRole("heading", { name, level: 1 }).waitFor();
  },
  { empty: true },
);

flow(
  "a wrong row is named with its file and line, and nothing is taken in",
  async ({ page, site, size }) => {
    const files = (await readdir(SAMPLE)).filter((name) => /\.(csv|json)$/.test(name));
    for (const name of files) {
      let text = await readFile(join(SAMPLE, name), "utf8");
      if (name === "slots.csv") text = withWrongWidth(text);
      await writeFile(join(site.folder, name), text);
    }
    await choose(page, site.folder);
    await page.getByTestId("take-in").click();
    const alert = page.locator("main").getByText(/slots\.csv/).last();
    await alert.waitFor();
    await page.getByText("twelve").first().waitFor();
    await picture(page, `wrong-row-${size}`);
    assert.equal((await ask(page, "site.summary")).empty, true);
  },
  { empty: true },
);

/** Writes a word where the first row of the sheet has a number. */
function withWrongWidth(text) {
  const [head, first, ...rest] = text.split("\n");
  const at = head.split(",").findIndex((name) => name.endsWith("_mm"));
  const cells = first.split(",");
  cells[at] = "twelve";
  return [head, cells.join(","), ...rest].join("\n");
}
