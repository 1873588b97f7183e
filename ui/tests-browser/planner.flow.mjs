// A planner's round: what money buys, the figures of one model, ahead, the last chance, changes.

import assert from "node:assert/strict";
import { ask, fits, flow, picture, saved, visit } from "./harness.mjs";

/** Amounts as the screens write them. */
const money = (cents) =>
  (cents / 100).toLocaleString("en-GB", { minimumFractionDigits: 2, maximumFractionDigits: 2 });

/** A budget that buys some of what helps, and not all. */
function someOf({ curve }) {
  assert.ok(curve.length > 3, "the sample site has something to buy");
  return Math.ceil(curve[Math.min(6, curve.length - 2)].spent_cents / 100 + 37) * 100;
}

flow(
  "a budget becomes a list of purchases, and the list becomes orders",
  async ({ page, size }) => {
    const budget_cents = someOf(await ask(page, "spares.budget"));
    await visit(page, "spares");
    await page.getByTestId("spare-line").first().waitFor();
    await fits(page);
    await picture(page, `spares-${size}`);
    await page.getByTestId("spares-money").click();
    const steps = page.getByTestId("money-steps");
    await steps.waitFor();
    await fits(page);
    await picture(page, `money-${size}`);
    await pointAt(page, steps);

    await page.getByTestId("budget").fill(String(budget_cents / 100));
    await page.getByTestId("budget-find").click();
    const list = page.getByTestId("buying-list");
    await list.waitFor();
    const { best, by_steps, present } = await ask(page, "spares.budget", { budget_cents });
    assert.ok(best.spent_cents <= budget_cents);
    assert.ok(best.backorders <= by_steps.backorders + 1e-12, "step by step is never better");
    assert.ok(best.backorders < present.backorders);
    assert.equal(await list.getByTestId("purchase").count(), best.purchases.length);
    assert.equal(await list.getByTestId("proof").getAttribute("data-proved"), String(best.proved));
    await page.getByTestId("beside-steps").waitFor();
    await page.getByTestId("present-worth").waitFor();
    await page.getByTestId("dead-stock").waitFor();
    await openFigures(page, "budget-sum");
    await fits(page);
    await picture(page, `money-list-${size}`);

    const before = await ask(page, "order.list");
    const kept = best.purchases.length > 1 ? best.purchases.slice(1) : best.purchases;
    if (kept.length < best.purchases.length)
      await list.getByTestId("purchase").first().locator("input").uncheck();
    await page.getByTestId("place-list").click();
    await list.getByTestId("done").waitFor();
    const orders = await ask(page, "order.list");
    const added = orders.filter(({ order }) => !before.some((old) => old.order === order));
    assert.equal(added.length, kept.length, "what was not ticked is not ordered");
    for (const { model, storeroom, pieces } of kept)
      assert.ok(
        added.some(
          (line) => line.model === model && line.storeroom === storeroom && line.ordered === pieces,
        ),
        `${pieces} of ${model} for ${storeroom} are on order`,
      );
    assert.match(added[0].reason, new RegExp(money(budget_cents)));
    const after = await ask(page, "spares.budget");
    assert.ok(after.present.backorders < present.backorders, "what is on its way counts");
    await fits(page);
    await picture(page, `money-placed-${size}`);
  },
);

/** A point of the curve can be reached by keys and by pointing. */
async function pointAt(page, steps) {
  const said = page.getByTestId("money-said");
  const first = await said.textContent();
  await steps.focus();
  await steps.press("End");
  const last = await said.textContent();
  assert.notEqual(last, first);
  await steps.press("Home");
  assert.equal(await said.textContent(), first);
  const box = await steps.boundingBox();
  await steps.click({ position: { x: box.width - 14, y: box.height / 2 } });
  assert.equal(await said.textContent(), last);
  await steps.press("Home");
}

/** Each figure of a sum opens to what it was reckoned from. */
async function openFigures(page, testid) {
  const fold = page.getByTestId(testid).first();
  await fold.click();
  const inside = page.locator("details", { has: fold }).first();
  const figures = inside.getByTestId("figure");
  await figures.first().waitFor();
  for (let at = 0; at < (await figures.count()) && at < 40; at++)
    if (await figures.nth(at).isVisible()) await figures.nth(at).click();
  assert.ok((await inside.locator("li").count()) > (await figures.count()), "figures have inputs");
}

/** A model that fails, stands in slots and has a level. */
async function aModel(page) {
  const { lines } = await ask(page, "spares.table");
  const line = lines.find(({ method, installed }) => method === "failures" && installed > 3);
  assert.ok(line, "the sample site has a model that fails");
  return line.model;
}

flow("every figure of a model is drawn, told and opened", async ({ page, size }) => {
  const model = await aModel(page);
  const known = await ask(page, "spares.model", { model });
  const [line] = known.lines;
  await visit(page, "spares");
  await page.getByTestId("spares-find").fill(model);
  await page.locator(`[data-testid=spare-line][data-model="${model}"]`).first().click();
  const level = page.getByTestId("level-of").first();
  await level.waitFor();
  const curve = known.curves.find(({ storeroom }) => storeroom === line.storeroom);
  const rows = level.getByTestId("service-table").locator("tbody tr");
  assert.equal(await rows.count(), curve.by_stock.length, "one row for each stock");
  await page.getByTestId("classes").waitFor();
  await openFigures(page, "model-sum");
  await fits(page);
  await picture(page, `spare-level-${size}`);

  await page.getByTestId("spare-view-rate").click();
  await page.getByTestId("rate").waitFor();
  await page.getByTestId("standing").waitFor();
  await fits(page);
  await picture(page, `spare-rate-${size}`);

  await page.getByTestId("spare-view-demand").click();
  await page.getByTestId("lead-demand").waitFor();
  await page.getByTestId("demand-as-table").click();
  const bars = page.getByTestId("demand-table").locator("tbody tr");
  await bars.first().waitFor();
  assert.ok((await bars.count()) > 2);
  await page.getByTestId("demand-history").waitFor();
  await fits(page);
  await picture(page, `spare-demand-${size}`);

  await page.getByTestId("spare-view-stores").click();
  await page.getByTestId("stores-table").waitFor();
  await fits(page);
  await picture(page, `spare-stores-${size}`);
});

flow(
  "a person's choice takes the place of what is reckoned, with a reason",
  async ({ page, size }) => {
    const model = await aModel(page);
    const [{ order_up_to }] = (await ask(page, "spares.model", { model })).lines;
    await page.goto(new URL(`/#/spare/${model}`, page.url()).href);
    await page.getByTestId("choose").click();
    await page.getByTestId("choose-reorder-at").fill(String(order_up_to + 1));
    await page.getByTestId("choose-up-to").fill(String(order_up_to + 2));
    await page.getByTestId("choose-send").click();
    assert.equal(
      (await ask(page, "spares.model", { model })).choices.length,
      0,
      "a reason is wanted",
    );
    await page.getByTestId("choose-reason").fill("A train is rebuilt this winter");
    await page.getByTestId("choose-send").click();
    await page.getByTestId("choices").getByTestId("done").waitFor();
    const chosen = (await ask(page, "spares.model", { model })).lines[0];
    assert.equal(chosen.order_up_to, order_up_to + 2);
    await page
      .getByTestId("level-of")
      .first()
      .getByText(/A train is rebuilt this winter/)
      .waitFor();
    await fits(page);
    await picture(page, `spare-choice-${size}`);
    await page.getByTestId("choose-reason").fill("The train is done");
    const { method, class: named, reorder_at } = (await ask(page, "spares.model", { model }))
      .choices[0];
    await ask(page, "spares.choose", {
      model,
      method,
      class: named,
      reorder_at,
      order_up_to: order_up_to + 2,
      reason: "Somebody else says so, too",
    });
    await page.getByTestId("choices").getByText(/Somebody else says so/).waitFor();
    assert.equal(
      await page.getByTestId("choose-reason").inputValue(),
      "The train is done",
      "what is being typed outlives a reply",
    );
    await page.getByTestId("choose-undo").click();
    await page.waitForFunction(() => !document.querySelector('[data-testid="choose-undo"]'));
    const [again] = (await ask(page, "spares.model", { model })).lines;
    assert.equal(again.order_up_to, order_up_to);
  },
);

/** The model that its storeroom is soonest without, so that orders are seen on the way. */
async function usedUp(page) {
  const { lines } = await ask(page, "spares.table");
  const wanted = lines.filter(({ lead_demand, order_up_to }) => lead_demand > 0 && order_up_to > 0);
  const share = ({ lead_demand, lead_time_d, now }) => lead_demand / lead_time_d / (now.stock + 1);
  wanted.sort((a, b) => share(b) - share(a));
  assert.ok(wanted.length > 0, "the sample site has a model that is used up");
  return wanted[0].model;
}

flow("stock month by month, and what if", async ({ page, size }) => {
  const model = await usedUp(page);
  await page.goto(new URL(`/#/spare/${model}?view=ahead`, page.url()).href);
  await page.getByTestId("projection").waitFor();
  await page.getByTestId("fan-as-table").click();
  const rows = page.getByTestId("fan-table").locator("tbody tr");
  await rows.first().waitFor();
  assert.equal(await rows.count(), 24);
  const months = page.getByTestId("fan-months");
  const before = await page.getByTestId("fan-said").textContent();
  await months.focus();
  await months.press("End");
  assert.notEqual(await page.getByTestId("fan-said").textContent(), before);
  await fits(page);
  await picture(page, `ahead-${size}`);

  await page.getByTestId("what-if").click();
  await page.getByTestId("what-if-lost").check();
  await page.getByTestId("what-if-ever").waitFor();
  const { present, what_if } = await ask(page, "spares.projection", {
    model,
    months: 120,
    what_if: { supplier_lost: true },
  });
  assert.ok(what_if.stock_out_ever >= present.stock_out_ever, "no supplier is no help");
  const [end, worse] = [present, what_if].map(({ months }) => months.at(-1).mean);
  assert.ok(worse < end, "nothing is bought any more, so less lies there in the end");
  await fits(page);
  await picture(page, `ahead-lost-${size}`);
  await page.getByTestId("what-if-clear").click();
  await page.getByTestId("what-if-ever").waitFor({ state: "detached" });
  const csv = await saved(page, () => page.getByTestId("save-projection-csv").click());
  assert.equal(csv.toString().trim().split("\n").length, 25, "a head and 24 months");
  const xlsx = await saved(page, () => page.getByTestId("save-projection-xlsx").click());
  assert.equal(xlsx.subarray(0, 2).toString(), "PK");
});

flow("the last chance to buy becomes an order", async ({ page, size }) => {
  await page.goto(new URL("/#/spares?view=last", page.url()).href);
  await page.getByTestId("last-model").first().click();
  const shown = page.getByTestId("last-of");
  await shown.waitFor();
  const model = (await shown.locator("h2").textContent()).trim();
  const known = await ask(page, "spares.last_chance", { model });
  // What comes without a purchase is listed by day.
  const others = await ask(page, "spares.last_chance", { model: "MP-TC08-C" });
  assert.ok(others.coming.length > 1 && others.harvested > 0);
  await page.goto(new URL("/#/spares?view=last&model=MP-TC08-C", page.url()).href);
  const coming = page.getByTestId("last-coming").locator("li");
  await coming.nth(others.coming.length - 1).waitFor();
  assert.equal(await coming.count(), others.coming.length);
  await fits(page);
  await picture(page, `last-coming-${size}`);
  await page.goto(new URL(`/#/spares?view=last&model=${model}`, page.url()).href);
  await page.locator("h2", { hasText: model }).waitFor();
  const cheapest = Math.min(...known.by_quantity.map(({ total_cents }) => total_cents));
  const best = known.by_quantity.find(({ buy }) => buy === known.buy);
  assert.equal(best.total_cents, cheapest, "no other number costs less");
  await shown.getByTestId("runs-out").waitFor();
  await page.getByTestId("last-costs-as-table").click();
  await page.getByTestId("last-costs").waitFor();
  await openFigures(page, "last-sum");
  await fits(page);
  await picture(page, `last-${size}`);

  await page.getByTestId("last-order").click();
  const pieces = page.getByTestId("last-order-pieces");
  assert.equal(await pieces.inputValue(), String(known.buy));
  await pieces.fill(String(Math.max(1, known.buy)));
  await page.getByTestId("last-order-send").click();
  await shown.getByTestId("done").waitFor();
  const after = await ask(page, "spares.last_chance", { model });
  assert.equal(after.on_order, known.on_order + Math.max(1, known.buy));
  await fits(page);
  await picture(page, `last-placed-${size}`);
});

flow("a change of the plant is planned and settled", async ({ page, size }) => {
  const model = await aModel(page);
  const before = await ask(page, "spares.planned");
  await page.goto(new URL("/#/spares?view=planned", page.url()).href);
  await page.getByTestId("plan-change").click();
  await page.getByTestId("plan-model").fill(model);
  await page.getByTestId("plan-on").fill("2027-06-01");
  await page.getByTestId("plan-units").fill("6");
  await page.getByTestId("plan-from-stock").fill("1");
  await page.getByTestId("plan-reason").fill("Fourth membrane train, trial");
  await page.getByTestId("plan-send").click();
  const line = page.getByTestId("planned-line").filter({ hasText: "Fourth membrane train, trial" });
  await line.waitFor();
  assert.equal((await ask(page, "spares.planned")).length, before.length + 1);
  await fits(page);
  await picture(page, `planned-${size}`);
  await line.getByTestId("settle").click();
  await line.getByTestId("settle-off").check();
  await line.getByTestId("settle-reason").fill("Put off for a year");
  await line.getByTestId("settle-send").click();
  await line.waitFor({ state: "detached" });
  assert.equal((await ask(page, "spares.planned")).length, before.length);
});
