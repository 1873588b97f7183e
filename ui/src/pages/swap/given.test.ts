import { expect, test } from "vitest";
import type { StepLine } from "../../api/generated";
import { holdBack } from "./given";

const step = (more: Partial<StepLine>) =>
  ({
    number: 1,
    text: "",
    detail: "",
    photo: false,
    second_person: false,
    seen: 0,
    ...more,
  }) as StepLine;

test("a reading outside its limits is not kept for later", () => {
  const measured = step({ reading: { unit: "V", low: 20.4, high: 28.8 } });
  for (const reading of [20.4, 24, 28.8])
    expect(() => holdBack(measured, { reading }, null)).not.toThrow();
  for (const reading of [20.39, 28.9, null, NaN])
    expect(() => holdBack(measured, { reading }, null), String(reading)).toThrow();
});

test("a wrong label is not kept for later, and a step that asks nothing always is", () => {
  const scanned = step({ scan: "unit", scan_label: "MPU-000-001-A" });
  expect(() => holdBack(scanned, { scanned: "MPU-000-002-B" }, null)).toThrow(/Stop/);
  expect(() => holdBack(scanned, { scanned: "MPU-000-001-A" }, null)).not.toThrow();
  expect(() => holdBack(step({}), {}, null)).not.toThrow();
});
