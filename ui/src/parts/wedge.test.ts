import { describe, expect, it } from "vitest";
import { SEPARATOR, WedgeEar } from "./wedge";

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

  it("hears a scanner that sends no ending key, once it is silent", () => {
    const ear = new WedgeEar();
    for (const [at, key] of [..."MPU4F7Q2K9"].entries()) ear.hear(key, at * 12);
    expect(ear.silence(9 * 12 + 60)).toBeNull();
    expect(ear.silence(9 * 12 + 120)).toBe("MPU4F7Q2K9");
    expect(ear.silence(9 * 12 + 400)).toBeNull();
  });

  it("leaves a fast person's words alone, with an ending key or without", () => {
    // 20 characters a second, twice as fast as a very good typist, with two keys rolled together.
    const gaps_ms = [70, 45, 20, 60, 48, 55, 25, 65, 50, 58];
    const ear = new WedgeEar();
    let at_ms = 0;
    for (const [at, key] of [..."controller"].entries()) ear.hear(key, (at_ms += gaps_ms[at]!));
    expect(ear.silence(at_ms + 500)).toBeNull();
    expect(ear.hear("Enter", at_ms + 70)).toBeNull();
  });

  it("needs more to believe a scan that nothing ends", () => {
    const short = new WedgeEar();
    for (const [at, key] of [..."MPU4F7Q"].entries()) short.hear(key, at * 12);
    expect(short.silence(1000)).toBeNull();
    const slow = new WedgeEar();
    for (const [at, key] of [..."MPU4F7Q2K9"].entries()) slow.hear(key, at * 40);
    expect(slow.silence(1000)).toBeNull();
  });

  it("keeps the separator between the fields of a maker's code", () => {
    const ear = new WedgeEar();
    let at_ms = 0;
    for (const key of ["2", "1", "A", "B", "7", SEPARATOR, "1", "0", "X"])
      expect(ear.hear(key, (at_ms += 8))).toBeNull();
    expect(ear.hear("Enter", at_ms + 8)).toBe(`21AB7${SEPARATOR}10X`);
  });

  it("takes a held key for a held key", () => {
    expect(type(new WedgeEar(), "aaaaaaaaaaaa", 30)).toBeNull();
    const ear = new WedgeEar();
    for (let at = 0; at < 40; at++) ear.hear("a", at * 30);
    expect(ear.silence(2000)).toBeNull();
  });
});
