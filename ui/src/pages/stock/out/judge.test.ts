import { expect, test } from "vitest";
import type { LotLine, Pick, PickLine } from "../../../api/generated";
import { judge, judgeLot } from "./judge";

const line = (label: string, code: string, shelf_until: string, reason = "") =>
  ({ label, code, bin: "ST1/C-01", pieces: 1, shelf_until, reason }) as PickLine;
const pick = {
  model: "MP-CEL1",
  wanted: 2,
  takes: [line("MPT0000001", "L1", "2027-02-10"), line("MPT0000002", "L2", "2028-01-01")],
  left_out: [line("MPT0000003", "L3", "2026-01-01", "its shelf date has passed")],
} as Pick;
const lot = (shelf_until: string, bin: string, model = "MP-CEL1") =>
  ({ label: "MPT0000009", model, code: "L9", shelf_until, bins: [{ bin, pieces: 5 }] }) as LotLine;

test("a label or code on the list may be taken", () => {
  expect(judge("mpt-000-000-1", pick)).toEqual({ may: true, take: pick.takes[0] });
  expect(judge(" L2 ", pick)).toEqual({ may: true, take: pick.takes[1] });
  expect(judge("MPT0000009", pick)).toBeNull();
});

test("what is left out says why, and what to take instead", () => {
  expect(judge("MPT0000003", pick)).toEqual({
    may: false,
    why: "left_out",
    line: pick.left_out[0],
    instead: pick.takes[0],
  });
  expect(judge("L3", { ...pick, takes: [] })).toMatchObject({ may: false, instead: null });
});

test("a lot that expires later waits for the one beside it, not for one of another storeroom", () => {
  expect(judgeLot(lot("2029-01-10", "ST1/C-02"), pick)).toMatchObject({
    may: false,
    why: "later",
    instead: pick.takes[0],
  });
  expect(judgeLot(lot("2029-01-10", "ST2/C-01"), pick)).toMatchObject({
    may: true,
    take: { label: "MPT0000009", bin: "ST2/C-01", pieces: 2 },
  });
  expect(judgeLot(lot("2027-02-10", "ST1/C-02"), pick)).toMatchObject({ may: true });
});

test("a lot of another model is never taken", () => {
  expect(judgeLot(lot("2026-12-01", "ST1/C-01", "MP-CEL2"), pick)).toMatchObject({
    may: false,
    why: "other_model",
    instead: pick.takes[0],
  });
});
