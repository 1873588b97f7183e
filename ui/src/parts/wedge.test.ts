import { describe, expect, it } from "vitest";
import { WedgeEar } from "./wedge";

/** Types `text` with `gap_ms` between keys and `end` after it; gives the last answer. */
function type(ear: WedgeEar, text: string, gap_ms: number, end = "Enter", from_ms = 1000) {
  let at_ms = from_ms;
  for (const key of text) {
    expect(ear.hear(key, at_ms)).toBeNull();
    at_ms += gap_ms;
  }
  return ear.hear(end, at_ms);
}

describe("WedgeEar", () => {
  it("hears a scan ended by Enter or by Tab", () => {
    expect(type(new WedgeEar(), "MPU4F7Q2K9", 8)).toBe("MPU4F7Q2K9");
    expect(type(new WedgeEar(), "MPU4F7Q2K9", 8, "Tab")).toBe("MPU4F7Q2K9");
  });

  it("is deaf to a person", () => {
    expect(type(new WedgeEar(), "MPU4F7Q2K9", 120)).toBeNull();
  });

  it("takes short bursts for a person's", () => {
    expect(type(new WedgeEar(), "MPU4F", 8)).toBeNull();
  });

  it("needs the ending key to be as quick as the rest", () => {
    const ear = new WedgeEar();
    for (const [at, key] of [..."MPU4F7Q2K9"].entries()) ear.hear(key, at * 8);
    expect(ear.hear("Enter", 1000)).toBeNull();
  });

  it("drops what a person typed before the scan", () => {
    const ear = new WedgeEar();
    ear.hear("x", 0);
    expect(type(ear, "MPU4F7Q2K9", 8, "Enter", 500)).toBe("MPU4F7Q2K9");
  });

  it("hears through the shift keys between capitals", () => {
    const ear = new WedgeEar();
    let at_ms = 0;
    for (const key of "MPU4F7Q2K9") {
      ear.hear("Shift", (at_ms += 5));
      ear.hear(key, (at_ms += 5));
    }
    expect(ear.hear("Enter", at_ms + 5)).toBe("MPU4F7Q2K9");
  });

  it("begins afresh after each scan", () => {
    const ear = new WedgeEar();
    type(ear, "MPU4F7Q2K9", 8);
    expect(type(ear, "MPT0000017", 8, "Enter", 2000)).toBe("MPT0000017");
  });
});
