import { describe, expect, it } from "vitest";
import { isWanted } from "./scan";

const WANTED = "MPU-4F7-Q2K-9";

describe("isWanted", () => {
  it.each([
    ["MPU4F7Q2K9", true],
    ["mpu 4f7 q2k 9", true],
    ["HTTPS://10.0.0.4:7443/L/MPU4F7Q2K9", true],
    ["MPU4F7Q2K8", false],
    ["", false],
  ])("judges %s for a unit as %s", (scanned, wanted) =>
    expect(isWanted(scanned, WANTED, null)).toBe(wanted),
  );

  it("takes letters that look like digits for digits", () => {
    expect(isWanted("MPSOOIL001", "MPS-001-100-1", null)).toBe(true);
  });

  it("takes the address of the slot as typed", () => {
    expect(isWanted("+k12.2.07", "MPS-000-001-A", "+K12.2.07")).toBe(true);
    expect(isWanted("+K12.2.07", "MPU-000-001-A", null)).toBe(false);
    expect(isWanted("+K12.2.08", "MPS-000-001-A", "+K12.2.07")).toBe(false);
  });
});
