// A stores clerk's month: a count, a delivery, pieces reserved and handed out, orders, exports.

import assert from "node:assert/strict";
import { ask, fits, flow, picture, saved, scan, visit } from "./harness.mjs";

flow("a shelf is counted by scanning, and a difference is explained and settled", async ({ page, size }) => {
  // Somebody took a cell and recorded it under the other lot.
  const bin = await binWith(page, 2);
  const [first, second] = bin.lots;
  await ask(page, "stock.count", { lot: second.label, bin: bin.path, quantity: second.pieces, note: "Counted" });

  await visit(page, "shelf");
  await page.getByTestId("day-bins").waitFor();
  await picture(page, `clerk-day-${size}`);
  await fits(page);
  await page.getByTestId("view-count").click();
  await page.getByTestId("bins-to-count").waitFor();
  await scan(page, bin.label);
  await page.getByTestId("scan-count").waitFor();
  await scan(page, first.label);
  await page.getByTestId("counted-lot").waitFor();
  await page.getByTestId("counted-pieces").fill(String(first.pieces));
  await scan(page, second.label);
  await page.getByTestId("counted-lot").nth(1).waitFor();
  await page.getByTestId("count-look").click();
  await page.getByTestId("count-notice").waitFor();
  assert.equal(await page.getByTestId("difference").count(), 0, "nothing is looked at before all is said");

  await page.reload();
  await page.getByTestId("counted-lot").nth(1).waitFor();
  assert.equal(await page.getByTestId("counted-pieces").last().inputValue(), String(first.pieces));
  await page.getByTestId("counted-pieces").first().fill(String(second.pieces));
  await page.getByTestId("counted-pieces-less").first().click();
  await picture(page, `clerk-counting-${size}`);
  await fits(page);
  await page.getByTestId("count-look").click();
  const difference = page.getByTestId("difference");
  await difference.first().waitFor();
  assert.equal(await difference.count(), 1, "only what differs is shown");
  assert.equal(await difference.getAttribute("data-label"), second.label);
  await picture(page, `clerk-difference-${size}`);
  await fits(page);
  await page.getByTestId("count-note").fill("One was taken in the night");
  await page.getByTestId("count-settle").click();
  await page.getByTestId("done").waitFor();

  const now = await ask(page, "stock.bin", { bin: bin.path });
  assert.equal(now.lots.find(({ label }) => label === second.label).pieces, second.pieces - 1);
  assert.equal(now.lots.find(({ label }) => label === first.label).pieces, first.pieces);
  assert.ok(now.counted_at, "the shelf knows when it was counted");
  const [entry] = await ask(page, "journal.list", { subject: bin.path });
  assert.match(entry.message, /count/i);
});

flow("a count goes on without a connection, and a unit that it misses is found and followed", async ({ page, size }) => {
  const bin = (await allBins(page)).find(({ units }) => units.length > 1);
  const [seen, missed] = bin.units;
  const count = to("shelf", { view: "count", bin: bin.path });
  await page.goto(new URL(count, page.url()).href);
  await page.getByTestId("scan-count").waitFor();
  await page.context().setOffline(true);
  await scan(page, seen.label);
  await page.getByTestId("counted-unit").waitFor();
  await page.getByTestId("count-look").click();
  await page.getByText(/stays on this device/).waitFor();
  await page.context().setOffline(false);
  await page.getByTestId("count-back").click();
  await page.getByTestId("count-look").click();
  await page.getByTestId("difference").first().waitFor();
  await picture(page, `clerk-missing-${size}`);
  await fits(page);
  await page.getByTestId("count-settle").click();
  await page.getByTestId("done").waitFor();
  const now = async () => (await ask(page, "unit.card", { unit: missed.label })).unit;
  assert.equal((await now()).place, "lost");

  await page.goto(new URL("/#/shelf", page.url()).href);
  await page.getByTestId("day-lost").waitFor();
  await page.goto(new URL(`/#/unit/${missed.label}`, page.url()).href);
  const acts = [
    ["found", bin.path, "", { place: bin.path, condition: "good" }],
    ["repair", "", "Output drifts", { place: "repair", condition: "failed" }],
    ["back", bin.path, "", { place: bin.path, condition: "good" }],
    ["hold", "", "Plate unclear", { place: bin.path, condition: "quarantined" }],
    ["lift", "", "Plate read", { place: bin.path, condition: "good" }],
    ["scrap", "", "Pin broken", { place: "scrapped", condition: "failed" }],
  ];
  for (const [act, into, reason, after] of acts) {
    await page.getByTestId(`act-${act}`).click();
    if (into) await page.getByTestId("act-bin").fill(into);
    await page.getByTestId("act-reason").fill(reason);
    await page.getByTestId("act-send").click();
    await page.getByTestId(`act-${act}`).waitFor({ state: "detached" });
    const { place, condition } = await now();
    assert.deepEqual({ place, condition }, after, act);
  }
  await page.getByTestId("scrapped").waitFor();
});

flow("what the list advises is ordered from its line", async ({ page, size }) => {
  await wantMore(page);
  await visit(page, "orders");
  await page.getByTestId("spare").first().waitFor();
  await picture(page, `clerk-orders-${size}`);
  await fits(page);
  const line = page.getByTestId("spare").first();
  const [model, advised] = await line.evaluate(({ dataset }) => [dataset.model, dataset.order]);
  assert.ok((await line.getByTestId("reason").innerText()).length > 10, "the line says why");
  await line.getByTestId("spare-figures").click();
  await line.getByTestId("service").waitFor();
  await line.getByTestId("place-order").click();
  assert.equal(await line.getByTestId("order-quantity").inputValue(), advised);
  await picture(page, `clerk-order-${size}`);
  await line.getByTestId("order-send").click();
  await page.getByTestId("placed").waitFor();
  const placed = (await ask(page, "order.list")).find((order) => order.model === model);
  assert.equal(placed.ordered, Number(advised), "the pieces advised are on order");
});

flow("a late delivery is received by scanning plate and bin", async ({ page, size }) => {
  const storeroom = "ST1";
  const { entry: order } = await ask(page, "order.place", {
    model: "MP-CEL1",
    storeroom,
    quantity: 6,
    due_on: "2020-01-01",
    reason: "For the clerk's month",
  });
  await visit(page, "orders");
  await page.getByTestId("orders-open").click();
  await page.getByTestId("late").first().waitFor();
  await picture(page, `clerk-open-orders-${size}`);
  await fits(page);

  await visit(page, "shelf");
  await page.getByTestId("day-late").waitFor();
  await page.getByTestId("view-receive").click();
  await page.getByTestId("awaited").waitFor();
  await scan(page, "CEL1LX77D260131");
  const arrival = page.getByTestId("arrival");
  await arrival.waitFor();
  assert.equal(await page.getByTestId("arrival-lot").inputValue(), "X77");
  assert.ok(await page.getByTestId("arrival-order").first().isChecked(), "the late order is chosen");
  await page.getByTestId("arrival-pieces").fill("8");
  await page.getByTestId("over-delivery").waitFor();
  await picture(page, `clerk-over-delivery-${size}`);
  await fits(page);
  await page.getByTestId("over-back").check();
  const bin = (await allBins(page)).find(({ path }) => path === `${storeroom}/C-01`);
  await scan(page, bin.label);
  await page.getByTestId("came").waitFor();
  await picture(page, `clerk-came-${size}`);
  const line_of = async () => (await ask(page, "order.list")).find((line) => line.order === order);
  assert.equal((await line_of()).received, 6, "what was ordered is received, the rest goes back");
  const lot = await ask(page, "stock.lot", { lot: "X77" });
  assert.equal(lot.pieces, 6);
  assert.equal(lot.made_on, "2026-01-31");
});

flow("reserved pieces are handed out for their swap, and a wrong lot is stopped", async ({ page, size }) => {
  const [fresh, later] = await lotsToChoose(page, "MP-CEL1");
  await page.goto(new URL(`/#/lot/${fresh.label}`, page.url()).href);
  await page.getByTestId("lot-reserve").click();
  await page.getByTestId("reserve-pieces").fill("1");
  await page.getByTestId("for-other").check();
  await page.getByTestId("who").fill("Spare controller of the workshop");
  await page.getByTestId("reserve-until").fill("2099-12-31");
  await picture(page, `clerk-reserve-${size}`);
  await fits(page);
  await page.getByTestId("reserve-send").click();
  await page.getByTestId("done").waitFor();
  const [kept] = await ask(page, "stock.reservations", { model: "MP-CEL1" });
  assert.equal(kept.pieces, 1);

  await visit(page, "shelf");
  await page.getByTestId("view-out").click();
  await page.getByTestId("reservation").first().waitFor();
  await page.getByTestId("for-other").check();
  await page.getByTestId("who").fill("Technician 1");
  await scan(page, later.label);
  const stop = page.getByTestId("not-this");
  await stop.waitFor();
  await stop.getByTestId("take-instead").getByText(fresh.label_human).waitFor();
  await picture(page, `clerk-not-this-${size}`);
  await fits(page);
  await page.getByTestId("scan-another").click();
  await page.getByTestId("kept-line").getByText(/workshop/).waitFor();
  await picture(page, `clerk-take-${size}`);
  await fits(page);
  const before = (await ask(page, "stock.lot", { lot: fresh.label })).pieces;
  await scan(page, fresh.label);
  await page.getByTestId("all-out").waitFor();
  assert.equal((await ask(page, "stock.lot", { lot: fresh.label })).pieces, before - 1);
  await page.getByTestId("out-next").click();

  await handOut(page, "workshop");
  await page.getByTestId("scan-take").waitFor();
  await scan(page, fresh.label);
  await page.getByTestId("all-out").waitFor();
  assert.equal((await ask(page, "stock.lot", { lot: fresh.label })).pieces, before - 2);
  const left = await ask(page, "stock.reservations", { model: "MP-CEL1" });
  assert.equal(left.length, 0, "it is used up");
});

flow("stock that is no longer wanted is set free again, with a reason", async ({ page, size }) => {
  const model = "MP-FER075";
  const [kept] = await ask(page, "stock.reservations", { model });
  const free = async () => {
    const { takes } = await ask(page, "stock.pick", { model, pieces: 999 });
    return takes.reduce((sum, { pieces }) => sum + pieces, 0);
  };
  const before = await free();
  await visit(page, "shelf");
  await page.getByTestId("view-out").click();
  const card = page.getByTestId("reservation").filter({ hasText: kept.for_what });
  await card.getByTestId("release").click();
  await card.getByTestId("release-send").click();
  assert.equal((await ask(page, "stock.reservations", { model })).length, 1, "not without a reason");
  await card.getByTestId("release-reason").fill("The works are put off");
  await picture(page, `clerk-release-${size}`);
  await fits(page);
  await card.getByTestId("release-send").click();
  await card.waitFor({ state: "detached" });
  assert.equal((await ask(page, "stock.reservations", { model })).length, 0);
  assert.equal(await free(), before + kept.pieces, "its pieces may be handed out again");
  const [entry] = await ask(page, "journal.list", { limit: 1 });
  assert.match(entry.message, /released: The works are put off/);
});

flow("the day says what is to order, and leads to the list", async ({ page, size }) => {
  const { lines } = await ask(page, "spares.table", { to_order: true });
  assert.ok(lines.length > 0, "the sample plant lacks something");
  await visit(page, "shelf");
  const list = page.getByTestId("day-to-order");
  await list.waitFor();
  assert.equal(await list.getAttribute("data-count"), String(lines.length));
  const first = list.locator("a").first();
  assert.equal(await first.getAttribute("data-model"), lines[0].model, "the most urgent first");
  await picture(page, `clerk-day-order-${size}`);
  await fits(page);
  await first.click();
  await page.getByTestId("spare").first().waitFor();
  // Cards of one row begin at one height.
  const tops = await page.getByTestId("spare").evaluateAll((cards) =>
    cards.map((card) => card.getBoundingClientRect()).map(({ top, left }) => ({ top, left })),
  );
  const beside = tops.filter(({ left }) => left !== tops[0].left);
  assert.equal(beside.length > 0, size === "desk", "two columns on a desk, one on a phone");
  if (size === "desk") assert.equal(tops[0].top, beside[0].top, "the columns begin in line");
  await picture(page, `clerk-order-list-${size}`);
  await page.emulateMedia({ colorScheme: "dark" });
  await picture(page, `clerk-order-list-dark-${size}`);
});

flow("a reserved unit is handed out for its swap, and tested where something is wrong with it", async ({ page, size }) => {
  const slot = await failedSlot(page);
  const [spare] = await ask(page, "swap.candidates", { slot: slot.address });
  const { label } = spare.unit;
  await page.goto(new URL(`/#/unit/${label}`, page.url()).href);
  await page.getByTestId("reserve-unit").click();
  await page.getByTestId("for-slot").check();
  await page.getByTestId("which-slot").fill(slot.address);
  await page.getByTestId("which-slot-go").click();
  await page.getByTestId("reserve-send").click();
  await page.getByTestId("done").waitFor();
  await visit(page, "shelf");
  await page.getByTestId("view-out").click();
  await handOut(page, slot.address);
  await page.getByTestId("scan-take").waitFor();
  await picture(page, `clerk-take-unit-${size}`);
  await scan(page, label);
  await page.getByTestId("all-out").waitFor();
  await page.getByTestId("begin-swap").click();
  await page.getByTestId("verdict").waitFor();
  assert.equal(await page.getByTestId("verdict").getAttribute("data-barred"), "false");

  await page.goto(new URL(`/#/unit/${label}`, page.url()).href);
  await page.getByTestId("handed-out").getByText(slot.address).first().waitFor();
  await page.getByTestId("act-wrong").click();
  await page.getByTestId("act-reason").fill("Its latch is loose");
  await page.getByTestId("act-send").click();
  await page.getByTestId("act-tested").click();
  await page.getByTestId("no-fault").check();
  await picture(page, `clerk-tested-${size}`);
  await fits(page);
  await page.getByTestId("test-send").click();
  await page.getByTestId("done").waitFor();
  const { unit } = await ask(page, "unit.card", { unit: label });
  assert.deepEqual([unit.place, unit.condition], ["bench", "good"]);
});

flow("a unit in somebody's hands is shown with its name, and comes back unused with one scan", async ({ page, size }) => {
  const bin = (await allBins(page)).find(({ units }) => units.some(({ condition }) => condition === "good"));
  const { label, model } = bin.units.find(({ condition }) => condition === "good");
  await visit(page, "shelf");
  await page.getByTestId("view-out").click();
  await page.getByTestId("for-other").check();
  await page.getByTestId("who").fill("Technician 1");
  await scan(page, label);
  await page.getByTestId("scan-take").waitFor();
  await scan(page, label);
  await page.getByTestId("all-out").waitFor();

  await page.getByTestId("view-day").click();
  const line = page.getByTestId("day-handed-out").getByText("to Technician 1");
  await line.waitFor();
  await picture(page, `clerk-day-handed-out-${size}`);
  await fits(page);
  await page.goto(new URL(to("orders"), page.url()).href);
  await page.getByTestId("orders-all").click();
  await page.getByTestId("orders-filter").fill(model);
  await page.locator(`[data-testid=spare][data-model="${model}"]`).first().getByText("handed out to Technician 1").waitFor();
  await picture(page, `clerk-order-handed-out-${size}`);
  await fits(page);
  await page.goto(new URL(to("shelf"), page.url()).href);
  await page.getByTestId("day-handed-out").waitFor();
  await scan(page, label);
  await page.getByTestId("handed-out").getByText("Technician 1").waitFor();
  await picture(page, `clerk-unit-handed-out-${size}`);
  await fits(page);
  await scan(page, bin.label);
  await page.getByTestId("hand-out").waitFor();
  const { unit } = await ask(page, "unit.card", { unit: label });
  assert.deepEqual([unit.place, unit.condition, unit.handed_out ?? null], [bin.path, "good", null]);
});

flow("order list, levels and stock are taken along as files", async ({ page }) => {
  await wantMore(page);
  await visit(page, "orders");
  await page.getByTestId("spare").first().waitFor();
  const csv = await saved(page, () => page.getByTestId("save-orders-csv").click());
  const model = await page.getByTestId("spare").first().getAttribute("data-model");
  assert.ok(csv.toString("utf8").includes(model), "the list holds what the screen shows");
  for (const [place, what] of [
    ["orders-now", "orders"],
    ["orders-all", "levels"],
  ]) {
    await page.getByTestId(place).click();
    await page.getByTestId(`save-${what}-xlsx`).waitFor();
    const xlsx = await saved(page, () => page.getByTestId(`save-${what}-xlsx`).click());
    assert.equal(xlsx.subarray(0, 2).toString(), "PK", "a spreadsheet is a zip");
  }
  await visit(page, "shelf");
  await page.getByTestId("view-bins").click();
  const stock = await saved(page, () => page.getByTestId("save-stock-csv").click());
  assert.ok(stock.toString("utf8").includes("L2601-4"), "the stock names its lots");
});

/** A planner decides to hold more of a model than lies there, so that it is to be ordered. */
async function wantMore(page) {
  const reason = "A second line is built";
  await ask(page, "spares.choose", { model: "MP-DI16-C", reorder_at: 4, order_up_to: 6, reason });
}

/** Begins to hand out what is kept for something. */
async function handOut(page, what) {
  const card = page.getByTestId("reservation").filter({ hasText: what });
  await card.getByTestId("hand-out-reserved").click();
}

/** The address of a screen, as links on the page write it. */
function to(page, query) {
  return `/#/${page}?${new URLSearchParams(query)}`;
}

async function allBins(page) {
  const { storerooms } = await ask(page, "stock.shelf");
  return storerooms.flatMap(({ bins }) => bins);
}

/** A bin with so many lots and no units. */
async function binWith(page, lots) {
  const bin = (await allBins(page)).find((bin) => bin.lots.length === lots && bin.units.length === 0);
  assert.ok(bin, `a bin of the sample site holds ${lots} lots`);
  return bin;
}

/** Lots of a model in one storeroom that may be handed out, the one that expires first first. */
async function lotsToChoose(page, model) {
  const { storerooms } = await ask(page, "stock.shelf");
  for (const { bins } of storerooms) {
    const lots = bins
      .flatMap(({ lots }) => lots)
      .filter((lot) => lot.model === model && !lot.expired && !lot.quarantined)
      .sort((a, b) => a.shelf_until.localeCompare(b.shelf_until));
    if (lots.length > 1 && lots[0].pieces > 1) return lots;
  }
  throw new Error(`no storeroom of the sample site has two lots of ${model}`);
}

async function failedSlot(page) {
  for (const { address } of await ask(page, "place.cabinets")) {
    const { rails } = await ask(page, "place.cabinet", { cabinet: address });
    const slots = rails.flatMap(({ items }) => items).flatMap(({ slot }) => slot ?? []);
    const failed = slots.find(({ state, key }) => state === "failed" && key);
    if (failed) return failed;
  }
  throw new Error("no slot of the sample site holds a failed module");
}
