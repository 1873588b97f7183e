// A planner's year: the plan of visits, agreed, carried out in part, and made again.

import assert from "node:assert/strict";
import { ask, fits, flow, picture, saved, visit } from "./harness.mjs";

flow("visits are planned and agreed, and changed batteries change plan and orders", async ({ page, size }) => {
  const before = await ask(page, "battery.plan");
  assert.ok(before.visits.length > 0, "the sample site has something to plan");
  await visit(page, "batteries");
  await page.getByTestId("view-plan").click();
  await page.getByTestId("plan").waitFor();
  await page.getByTestId("plan-worth").waitFor();
  assert.equal(await page.getByTestId("plan-conflict").count(), before.conflicts.length);
  await fits(page);
  await picture(page, `plan-${size}`);
  await theYearsVisits(page, size, before);

  await page.getByTestId("plan-agree").click();
  await page.getByTestId("plan-agreed").waitFor();
  const agreed = await ask(page, "battery.plan");
  assert.ok(agreed.visits.every((visit) => visit.agreed));
  assert.equal(agreed.moved.length, 0);
  await files(page, agreed);
  await picture(page, `plan-agreed-${size}`);

  const orders = await ask(page, "spares.table", {});
  const done = await changeThree(page, agreed.visits, size);
  assert.equal(done.length, 3);
  const after = await ask(page, "battery.plan");
  for (const { unit, due_on } of done) {
    const next = after.visits.flatMap(({ changes }) => changes).find((change) => change.unit === unit);
    assert.ok(!next || next.due_on > due_on, `${unit} was changed and is due later`);
  }
  const types = new Set(done.map(({ battery_model }) => battery_model));
  const of = ({ lines }) => lines.filter(({ model }) => types.has(model));
  assert.notDeepEqual(of(await ask(page, "spares.table", {})), of(orders), "the order list changed");
  await page.goto(new URL("/#/batteries?view=plan", page.url()).href);
  await page.getByTestId("plan").waitFor();
  await picture(page, `plan-after-${size}`);
});

/** At the desk marks of a time line, on a phone a list by month; both open a visit. */
async function theYearsVisits(page, size, { visits }) {
  const [first] = visits;
  const year = first.on.slice(0, 4);
  const shown = visits.filter(({ on }) => on.startsWith(year));
  const marks = page.getByTestId("visit-mark");
  const cards = page.getByTestId("planned-visit");
  assert.equal(await page.getByTestId("year").inputValue(), year);
  assert.equal(await cards.count(), shown.length);
  if (size === "desk") {
    assert.equal(await marks.count(), shown.length);
    await marks.first().click();
  } else {
    assert.equal(await marks.first().isVisible(), false);
    await cards.first().locator("summary").click();
  }
  const opened = page.locator("[data-testid=planned-visit][open]");
  await opened.waitFor();
  const sheet = await saved(page, () => opened.getByTestId("work-sheet").click());
  assert.equal(sheet.subarray(0, 5).toString(), "%PDF-");
  await fits(page);
  await picture(page, `plan-visit-${size}`);
  const later = visits.find(({ on }) => !on.startsWith(year));
  assert.ok(later, "the plan goes on in later years");
  await page.getByTestId("year").selectOption(later.on.slice(0, 4));
  await page.locator(`[data-testid=planned-visit][data-on="${later.on}"]`).first().waitFor();
  await picture(page, `plan-later-${size}`);
}

async function files(page, { visits }) {
  const calendar = await saved(page, () => page.getByTestId("calendar").click());
  const events = calendar.toString().match(/BEGIN:VEVENT/g) ?? [];
  assert.equal(events.length, visits.length, "an event for each agreed visit");
  await page.getByTestId("calendar-address").click();
  await page.getByTestId("make-calendar-address").click();
  const address = await page.getByTestId("calendar-path").textContent();
  const answer = await fetch(address);
  assert.equal(answer.status, 200, "the address needs nothing but itself");
  assert.match(await answer.text(), /^BEGIN:VCALENDAR/);
  const spoiled = await fetch(address.replace(/.\.ics$/, "!.ics"));
  assert.notEqual(spoiled.status, 200);
}

/** Types what stands on a label, as a person without a scanner does. */
async function type(page, field, label) {
  await page.getByTestId(field).fill(label);
  await page.getByTestId(`${field}-go`).click();
}

/** Changes three batteries as they come in the plan. */
async function changeThree(page, visits, size) {
  const changes = visits.flatMap(({ changes }) => changes);
  const once = new Map(changes.filter(({ lot }) => lot).map((change) => [change.unit, change]));
  const three = [...once.values()].slice(0, 3);
  const [first, second] = visits;
  assert.equal(first.on, second.on, "two cabinets are visited on the first day");
  for (const [at, { unit, lot }] of three.entries()) {
    if (at === 1) {
      const next = page.getByTestId("next-of-visit");
      await next.waitFor();
      await picture(page, `battery-next-${size}`);
      await next.click();
      await page.waitForURL((url) => url.hash.endsWith(unit));
    } else {
      await page.goto(new URL("/#/battery", page.url()).href);
      await page.getByTestId("scan-controller").waitFor();
      await type(page, "scan-controller", unit);
    }
    await page.getByTestId("scan-lot").waitFor();
    await page.getByTestId("saved").check();
    await type(page, "scan-lot", lot);
    await page.getByTestId("powered").check();
    await page.getByTestId("found-good").check();
    const bins = page.getByTestId("change-bin");
    if (await bins.count()) await bins.selectOption({ index: 1 });
    await page.getByTestId("record-change").click();
    await page.getByTestId("change-form").getByTestId("done").waitFor();
  }
  await fits(page);
  await picture(page, `battery-changed-${size}`);
  return three;
}

flow(
  "a change in a room without coverage is kept, and sent when there is coverage again",
  async ({ page, size }) => {
    const [first] = (await ask(page, "battery.plan")).visits;
    const [{ unit, lot }] = first.changes;
    await page.goto(new URL("/#/batteries?view=plan", page.url()).href);
    const fetched = page.waitForResponse((answer) => answer.url().endsWith("/api/stock.lot"));
    await page.getByTestId("planned-visit").first().locator("summary").click();
    await fetched;
    await page.context().setOffline(true);

    await page.evaluate((unit) => (location.hash = `#/battery/${unit}`), unit);
    await page.getByTestId("saved").check();
    await type(page, "scan-lot", lot);
    await page.getByTestId("powered").check();
    await page.getByTestId("found-spent").check();
    await page.getByTestId("record-change").click();
    await page.getByTestId("change-form").getByTestId("done").waitFor();
    await fits(page);
    await picture(page, `battery-offline-${size}`);

    await page.context().setOffline(false);
    await page.evaluate(() => window.dispatchEvent(new Event("online")));
    await page.waitForFunction(
      () => JSON.parse(localStorage.getItem("slotkeep.outbox") ?? "[]").length === 0,
    );
    const [entry] = await ask(page, "journal.list", { subject: unit });
    assert.match(entry.message, /changed from lot .*spent/);
  },
  { sizes: ["phone"] },
);

flow("what cannot be done in time stands first, and what had to move says why", async ({ page, size }) => {
  const plan = await ask(page, "battery.plan");
  const [closed] = plan.closed;
  // Somebody agrees to a day on which no visits are made, while nothing of it is due yet.
  const later = ({ due_on }) => due_on > closed.from;
  const near = plan.visits.find(({ changes }) => changes.every(later));
  const visits = plan.visits.map(({ on, scope, power_off, changes }) => ({
    on: on === near.on && scope === near.scope ? closed.from : on,
    scope,
    power_off,
    units: changes.map(({ unit }) => unit),
  }));
  await ask(page, "battery.agree", { visits, horizon_until: plan.horizon_until });
  const stop = plan.visits.find(({ power_off }) => power_off).power_off;
  await ask(page, "battery.power_off_settled", { planned: stop, reason: "Sold more water" });

  await page.goto(new URL("/#/batteries?view=plan", page.url()).href);
  const conflict = page.getByTestId("plan-conflict").first();
  await conflict.waitFor();
  assert.equal(await conflict.getAttribute("data-constraint"), "needs_power_off");
  await page.getByTestId("plan-moved").getByText(/no visits are made on that day/).first().waitFor();
  const [first] = await page.getByTestId("plan").locator("h2").allTextContents();
  assert.match(first, /cannot be changed in time/);
  await fits(page);
  await picture(page, `plan-conflict-${size}`);
});
