import { expect, test } from "vitest";
import type { AuditSlot, PhotoReading } from "../../api/generated";
import { begin, isSame, ringOf, seenIn, unwanted } from "./work";

const corners = [
  { x: 0, y: 0 },
  { x: 9, y: 0 },
  { x: 9, y: 9 },
  { x: 0, y: 9 },
];
const found = (label: string | null, text: string, confirm = false) => ({
  corners,
  confirm,
  thing: { label, text },
});
const reading = {
  width_px: 100,
  height_px: 50,
  found: [
    found("MPU4F7Q2K9", "https://x/MPU4F7Q2K9"),
    found(null, ""),
    found("MPU1", "MPU1", true),
  ],
  rails: [{ order: [1, 0, 2], pitch_px: null }],
} as unknown as PhotoReading;

test("a reading keeps order, places, and what is only recognised", () => {
  const seen = seenIn(reading, "ab");
  expect(seen.labels.map(({ text, confirm }) => [text, confirm])).toEqual([
    ["MPU4F7Q2K9", false],
    ["", false],
    ["MPU1", true],
  ]);
  expect(seen.rails).toEqual([[1, 0, 2]]);
  expect(seen.labels[0]?.corners).toHaveLength(4);
  expect([seen.photo, seen.width_px, seen.height_px]).toEqual(["ab", 100, 50]);
});

test("the same photo twice is told by what it shows", () => {
  const one = seenIn(reading, "ab");
  expect(isSame(one, seenIn(reading, null))).toBe(true);
  expect(isSame(one, { ...one, labels: one.labels.slice(1) })).toBe(false);
});

test("units that were exchanged are found in a ring", () => {
  const slots = [
    { slot: "1", with: "3" },
    { slot: "2", with: null },
    { slot: "3", with: "4" },
    { slot: "4", with: "1" },
  ] as AuditSlot[];
  expect(ringOf(slots[2]!, slots)).toEqual(["3", "4", "1"]);
  expect(ringOf(slots[1]!, slots)).toEqual(["2"]);
});

test("a photo that other work or the outbox will name is not thrown away", () => {
  const named = (digit: string) => seenIn(reading, digit.repeat(64));
  const [one, other, sent] = [named("1"), named("2"), named("3")];
  const work = { ...begin("2026-11-25T08:00:00Z"), photos: [other] };
  const waiting = [{ input: { rail: "+K1.1", photos: [sent] } }];
  const photos = [one, other, sent, seenIn(reading, null)];
  expect(unwanted(photos, [work], waiting)).toEqual(["1".repeat(64)]);
});
