import { describe, expect, it } from "vitest";
import { uuid7 } from "./uuid7";

describe("uuid7", () => {
  /** Source: RFC 9562, appendix A.6: 017F22E2-79B0-7CC3-98C4-DC0C0C07398F. */
  it("writes the example of the standard", () => {
    const random = [0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f];
    const made = uuid7(0x017f22e279b0, Uint8Array.from(random));
    expect(made).toBe("017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
  });

  it("sorts by time", () => {
    expect(uuid7(1_700_000_000_000) < uuid7(1_700_000_000_001)).toBe(true);
  });

  it("differs within a millisecond", () => {
    expect(uuid7(1_700_000_000_000)).not.toBe(uuid7(1_700_000_000_000));
  });
});
