// How long batteries last, and what each of their figures was reckoned from.

import assert from "node:assert/strict";
import { fits, flow, picture, visit } from "./harness.mjs";

flow("the life of a battery type is shown as curves and as a table", async ({ page, size }) => {
  await visit(page, "batteries");
  await page.getByTestId("view-life").click();
  await page.getByTestId("life").waitFor();
  await fits(page);
  await page.getByTestId("life-as-table").click();
  const rows = page.getByTestId("life-table").locator("tbody tr");
  await rows.first().waitFor();
  const shares = (await rows.allInnerTexts())
    .map((text) => text.split("\t"))
    .filter(([years]) => /^\d+$/.test(years))
    .map((cells) => cells.slice(1).map(parseFloat));
  assert.ok(shares.length > 2);
  assert.deepEqual(shares[0], shares[0].map(() => 100), "all are good at the start");
  for (let at = 1; at < shares.length; at++)
    for (const [of, share] of shares[at].entries())
      assert.ok(share <= shares[at - 1][of], "no share rises");
  await page.getByTestId("life-advice").waitFor();
  await fits(page);
  await picture(page, `life-${size}`);
  const types = page.getByTestId("life-type");
  await types.last().click();
  await page.getByTestId("evidence").waitFor();
});

flow("every figure of a battery opens to what it was reckoned from", async ({ page, size }) => {
  await visit(page, "batteries");
  const line = page.getByTestId("battery-line").filter({ has: page.getByTestId("battery-sum") }).first();
  await line.getByTestId("battery-sum").click();
  const figures = line.getByTestId("figure");
  await figures.first().waitFor();
  const closed = await figures.count();
  for (let at = 0; at < closed; at++) {
    const figure = figures.nth(at);
    if (await figure.isVisible()) await figure.click();
  }
  await line.getByText(/back-up drain/i).first().waitFor();
  await fits(page);
  await picture(page, `battery-figures-${size}`);
});
