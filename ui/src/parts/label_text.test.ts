import { expect, test } from "vitest";
import { kindOfLabel, plainLabel } from "./label_text";

test("a label is the same however it was scanned or typed", () => {
  for (const text of [
    "MPT4F7Q2K9",
    "mpt-4f7-q2k-9",
    " MPT 4F7 Q2K 9",
    "HTTPS://10.0.0.2:7070/L/MPT4F7Q2K9",
  ])
    expect(plainLabel(text)).toBe("MPT4F7Q2K9");
  expect(plainLabel("mpuol1")).toBe("MPU011");
});

test("the letter after the site says what a label is on", () => {
  expect(kindOfLabel("MPU4F7Q2K9")).toBe("unit");
  expect(kindOfLabel("mpb-4f7-q2k-9")).toBe("bin");
  expect(kindOfLabel("https://host/l/mpt4f7q2k9")).toBe("lot");
});

test("what is no label has no kind", () => {
  for (const text of ["", "L2402-1", "ST1/C-01", "MPX4F7Q2K9", "MPU4F7Q2K", "(21)PS-77"])
    expect(kindOfLabel(text)).toBeNull();
});
