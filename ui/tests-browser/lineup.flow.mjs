// A rail against the rules, and a rail extended on paper: findings and what it takes.

import assert from "node:assert/strict";
import { ask, fits, flow, picture } from "./harness.mjs";

flow("a cabinet is held against the rules, from its own page", async ({ page, size }) => {
  const { findings } = await ask(page, "lineup.check", { address: "+K13.2" });
  await page.goto(new URL("/#/cabinet/%2BK13", page.url()).href);
  await page.getByTestId("lineup-open").click();
  await page.getByTestId("lineup").waitFor();
  await page.getByText("+K13.2", { exact: true }).first().click();
  const open = findings.filter(({ severity }) => severity !== "pass");
  const shown = page.getByTestId("finding");
  await page.getByText(/^\+K13\.2:/).waitFor();
  assert.equal(await shown.count(), open.length);
  assert.equal(
    await shown.first().getAttribute("data-severity"),
    "stop",
    "the graver stands first",
  );
  await page.getByText(/both have address 5/).waitFor();
  await page.getByTestId("in-order").click();
  await picture(page, `lineup-rail-${size}`);
  await fits(page);
  assert.equal(await shown.count(), findings.length);
});

flow(
  "a rail is extended in planning, with findings and bill of material",
  async ({ page, size }) => {
    const rail = "+K11.1";
    const now = await ask(page, "lineup.plan", { rail });
    await page.goto(new URL(`/#/lineup/${encodeURIComponent(rail)}`, page.url()).href);
    await page.getByTestId("plan-rail").click();
    const items = page.getByTestId("plan-item");
    await items.first().waitFor();
    assert.equal(await items.count(), now.items.length);
    await page.getByText("As it stands now").waitFor();

    for (let more = 0; more < 3; more += 1) {
      await page.getByTestId("plan-add-model").selectOption("MP-AI08-C");
      await page.getByTestId("plan-add").click();
      await page.waitForFunction(
        (count) => document.querySelectorAll('[data-testid="plan-item"]').length === count,
        now.items.length + more + 1,
      );
    }
    const line = page.locator('[data-testid="material"][data-model="MP-AI08-C"]');
    await line.waitFor();
    await page.waitForFunction(
      () =>
        document.querySelector('[data-testid="material"][data-model="MP-AI08-C"]')?.dataset
          .pieces === "3",
    );
    await page.locator('[data-testid="material"][data-model="MP-BSC"]').waitFor();
    const ends = page.locator('[data-rule="bus-ends"][data-severity="stop"]');
    assert.equal(await ends.count(), 0, "the terminator was pushed on to the new end");
    await picture(page, `lineup-plan-${size}`);
    await fits(page);

    // The last terminator is taken off: the bus is open.
    const terminator = page.locator('[data-testid="plan-item"][data-kind="terminator"]').last();
    await terminator.click();
    await page.getByTestId("plan-remove").click();
    await ends.first().waitFor();
    await page.getByText(/no terminator closes the right end/).waitFor();
    await picture(page, `lineup-plan-stop-${size}`);

    // A reload loses nothing; beginning again does.
    const count = await items.count();
    await page.reload();
    await items.first().waitFor();
    assert.equal(await items.count(), count);
    await page.getByTestId("plan-again").click();
    await page.getByText("As it stands now").waitFor();
    assert.deepEqual(await ask(page, "lineup.plan", { rail }), now, "nothing was recorded");
  },
);

flow("rails that hang together say so, and what comes of it", async ({ page, size }) => {
  const go = (screen) => page.goto(new URL(`/#/${screen}`, page.url()).href);
  await go(`lineup/${encodeURIComponent("+K18.2")}`);
  const joins = page.getByTestId("rail-joins");
  await joins.getByText("24 V comes from the power supplies on +K18.1").waitFor();
  const budget = page.locator('[data-testid="finding"][data-rule="supply-budget"]').first();
  await budget.getByText(/without \+K18\.1\.01 the supply that stays gives/).waitFor();
  await fits(page);
  await picture(page, `lineup-fed-${size}`);

  // What is planned here is held against the supply of the other rail.
  await page.getByTestId("plan-rail").click();
  await page.getByTestId("plan-item").first().waitFor();
  const stop = page.locator('[data-rule="supply-budget"][data-severity="stop"]');
  await stop.first().waitFor();
  await fits(page);
  await picture(page, `lineup-fed-plan-${size}`);

  await go(`cabinet/${encodeURIComponent("+K18")}`);
  await joins.getByText("recorded as redundant and feed +K18.2 too").waitFor();
  await fits(page);
  await picture(page, `lineup-feeding-${size}`);

  await go(`swap-effects/${encodeURIComponent("+K18.1.01")}`);
  const small = page.locator('[data-testid="disturbed"][data-why="supply_too_small"]');
  await small.first().waitFor();
  const { disturbed } = await ask(page, "swap.effects", { slot: "+K18.1.01" });
  assert.equal(await page.getByTestId("disturbed").count(), disturbed.length);
  await page.getByText(/mA are drawn, and what stays gives/).waitFor();
  await fits(page);
  await picture(page, `effects-supply-${size}`);

  // So does the verdict of the very swap.
  const [spare] = await ask(page, "swap.candidates", { slot: "+K18.1.01" });
  await go(`swap-new/${encodeURIComponent("+K18.1.01")}?unit=${spare.unit.label}`);
  await page.getByTestId("others").getByText(/26 other units are disturbed/).waitFor();
  await fits(page);
  await picture(page, `verdict-supply-${size}`);
});

flow("items move by keys, buttons and dragging", async ({ page, size }) => {
  await page.goto(new URL("/#/lineup-plan/%2BK12.2", page.url()).href);
  const items = page.getByTestId("plan-item");
  await items.first().waitFor();
  const models = () => items.evaluateAll((all) => all.map((one) => one.dataset.model));
  const changed = async (from) => {
    await page.waitForFunction(
      (before) =>
        JSON.stringify(
          [...document.querySelectorAll('[data-testid="plan-item"]')].map(
            (one) => one.dataset.model,
          ),
        ) !== before,
      JSON.stringify(from),
    );
    return models();
  };
  const before = await models();
  const at = before.findIndex((model, index) => index > 3 && model !== before[index + 1]);
  await items.nth(at).click();
  await page.getByTestId("plan-right").click();
  const stepped = await changed(before);
  assert.equal(stepped[at + 1], before[at]);

  await items.nth(at + 1).focus();
  await page.keyboard.press("Shift+ArrowLeft");
  assert.deepEqual(await changed(stepped), before);

  await items.nth(at).scrollIntoViewIfNeeded();
  if (size === "phone") {
    // A finger on what is not chosen scrolls the row; on what is chosen it drags.
    await items.nth(at + 2).tap();
    await fingerDrag(page, items.nth(at), 1.7);
    assert.deepEqual(await models(), before);
    await items.nth(at).tap();
    // The row brings what is chosen into view.
    await page.evaluate(
      () => new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn))),
    );
    await fingerDrag(page, items.nth(at), 1.7);
  } else {
    await mouseDrag(page, items.nth(at), 1.7);
  }
  const dragged = await changed(before);
  assert.equal(dragged[at], before[at + 1], "its neighbour closed up");
  await picture(page, `lineup-dragged-${size}`);
});

/** Drags an item by some of its widths to the right. */
async function mouseDrag(page, item, widths) {
  const box = await item.boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + 40];
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x + (box.width * widths) / 2, y, { steps: 4 });
  await page.mouse.move(x + box.width * widths, y, { steps: 4 });
  await page.mouse.up();
}

/** The same with a finger, whose moves Chromium takes only from its own protocol. */
async function fingerDrag(page, item, widths) {
  const box = await item.boundingBox();
  const y = box.y + 40;
  const hand = await page.context().newCDPSession(page);
  const touch = (type, touchPoints) => hand.send("Input.dispatchTouchEvent", { type, touchPoints });
  const x = (part) => box.x + box.width * (0.5 + widths * part);
  await touch("touchStart", [{ x: x(0), y }]);
  for (let step = 1; step <= 8; step += 1) await touch("touchMove", [{ x: x(step / 8), y }]);
  await touch("touchEnd", []);
  await hand.detach();
}
