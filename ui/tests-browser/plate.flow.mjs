// A maker's plate: its codes propose what a person then registers.

import assert from "node:assert/strict";
import { ask, flow, picture, scan, visit } from "./harness.mjs";

async function openForm(page, form) {
  await visit(page, "shelf");
  await page.getByTestId("view-receive").click();
  await page.getByTestId(form).click();
  // Until the form is there, the field above it takes the scans.
  await page.getByTestId(`${form}-plate`).waitFor();
}

flow("a scanned plate is proposed, accepted and registered", async ({ page, size }) => {
  await openForm(page, "register");
  await scan(page, "MP-AI08-C/B/26-990011");
  const proposal = page.getByTestId("proposal");
  await proposal.waitFor();
  await picture(page, `plate-proposal-${size}`);
  assert.equal(await page.getByTestId("register-serial").inputValue(), "", "nothing is filled in unseen");
  await page.getByTestId("accept-proposal").click();
  assert.equal(await page.getByTestId("register-model").inputValue(), "MP-AI08-C");
  assert.equal(await page.getByTestId("register-serial").inputValue(), "26-990011");
  assert.equal(await page.getByTestId("register-revision").inputValue(), "B");
  await page.getByTestId("register-place").fill("bench");
  await page.getByTestId("register-send").click();
  await page.getByText("is registered as").waitFor();
  const [found] = await ask(page, "search.find", { text: "26-990011" });
  assert.equal(found.kind, "unit");
});

flow("a plate of a unit that is here already leads to it", async ({ page, size }) => {
  await openForm(page, "register");
  await scan(page, "CP2#19-004014#1904");
  await page.getByTestId("proposal").getByRole("link").waitFor();
  await picture(page, `plate-already-${size}`);
  assert.equal(await page.getByTestId("accept-proposal").count(), 0);
});

flow("a code that no form fits is shown and can be taken as it is", async ({ page, size }) => {
  await openForm(page, "register");
  await scan(page, "0815-4711-X");
  await page.getByTestId("unread-code").waitFor();
  await picture(page, `plate-unread-${size}`);
  await page.getByTestId("unread-code").getByRole("button").click();
  assert.equal(await page.getByTestId("register-serial").inputValue(), "0815-4711-X");
});

flow("a part and a serial number scanned one after the other make one proposal", async ({ page }) => {
  await openForm(page, "register");
  await scan(page, "(01)09521234000013");
  await page.getByTestId("proposal").waitFor();
  await page.waitForTimeout(200);
  await scan(page, "(21)PS-77");
  await page.getByTestId("proposal").getByText("PS-77").first().waitFor();
  assert.equal(await page.getByTestId("proposal").count(), 1);
  await page.getByTestId("accept-proposal").click();
  assert.equal(await page.getByTestId("register-model").inputValue(), "MP-PS03");
});

flow("a lot of cells is proposed where pieces are received", async ({ page, size }) => {
  await openForm(page, "receive");
  await scan(page, "CEL1LX77D260131");
  await page.getByTestId("accept-proposal").click();
  assert.equal(await page.getByTestId("receive-code").inputValue(), "X77");
  assert.equal(await page.getByTestId("receive-model").inputValue(), "MP-CEL1");
  await picture(page, `plate-lot-${size}`);
});
