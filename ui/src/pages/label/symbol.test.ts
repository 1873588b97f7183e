import { describe, expect, it } from "vitest";
import { symbolPath } from "./symbol";

describe("symbolPath", () => {
  it("draws each run of dark modules once, inside the quiet zone", () => {
    expect(symbolPath("110\n011\n000", 3)).toBe("M4 4h2v1h-2zM5 5h2v1h-2z");
  });
  it("does not join the end of one row to the next", () => {
    expect(symbolPath("0110", 2)).toBe("M5 4h1v1h-1zM4 5h1v1h-1z");
  });
});
