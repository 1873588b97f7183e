import { expect, test } from "vitest";
import { NO_PURPOSE, purposeInput, saidOf, visitKey, type Purpose } from "./purpose";

const swaps = [{ swap: "s1", slot: "+K12.2.07" }];

test("a purpose says what it is for once all of it is said", () => {
  expect(saidOf(NO_PURPOSE, swaps)).toBe("");
  expect(saidOf({ ...NO_PURPOSE, kind: "swap" }, swaps)).toBe("");
  expect(saidOf({ ...NO_PURPOSE, kind: "swap", swap: "s1" }, swaps)).toBe("swap in +K12.2.07");
  expect(saidOf({ ...NO_PURPOSE, kind: "slot", slot: "+K11.1.03" }, swaps)).toBe(
    "swap in +K11.1.03",
  );
  expect(saidOf({ ...NO_PURPOSE, kind: "other", text: "  Workshop " }, swaps)).toBe("Workshop");
});

test("a visit is named by its cabinet and day", () => {
  const visit = visitKey({ on: "2027-03-14", cabinet: "+K12" });
  expect(saidOf({ ...NO_PURPOSE, kind: "visit", visit }, swaps)).toBe(
    "battery visit to +K12 on 14 Mar 2027",
  );
});

test("what was typed for another kind of purpose does not count", () => {
  expect(saidOf({ ...NO_PURPOSE, kind: "visit", swap: "s1", text: "Workshop" }, swaps)).toBe("");
});

test("a record holds a swap, a slot or an agreed visit, else words alone", () => {
  const visits = [
    { on: "2027-03-14", cabinet: "+K12", agreed: true },
    { on: "2027-04-02", cabinet: "+K13", agreed: false },
  ];
  const none = { swap: null, slot: null, visit: null };
  const held = (said: Partial<Purpose>) => purposeInput({ ...NO_PURPOSE, ...said }, visits);
  expect(held({ kind: "swap", swap: "s1", slot: "+K11.1.03" })).toEqual({ ...none, swap: "s1" });
  expect(held({ kind: "slot", slot: "+K11.1.03" })).toEqual({ ...none, slot: "+K11.1.03" });
  expect(held({ kind: "visit", visit: "2027-03-14 +K12" })).toEqual({
    ...none,
    visit: { on: "2027-03-14", scope: "+K12" },
  });
  expect(held({ kind: "visit", visit: "2027-04-02 +K13" })).toEqual(none);
  expect(held({ kind: "other", text: "Workshop" })).toEqual(none);
});
