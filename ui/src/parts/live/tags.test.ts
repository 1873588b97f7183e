import { describe, expect, it } from "vitest";
import { placeTags, TAG } from "./tags";

const rail = (count: number, every: number) =>
  Array.from({ length: count }, (_, at) => ({ x: 60 + at * every, top: 90, bottom: 120 }));

describe("placeTags", () => {
  it("puts a name below its label", () => {
    const [tag] = placeTags([{ x: 200, top: 90, bottom: 120 }], 400, 400);
    expect(tag).toEqual({ x: 200, y: 120 + TAG.gap + TAG.height / 2 });
  });
  it("lets no name cover another while there is room", () => {
    const tags = placeTags(rail(5, 60), 360, 420);
    for (const [at, a] of tags.entries())
      for (const b of tags.slice(at + 1))
        expect(Math.abs(a.x - b.x) >= TAG.width || Math.abs(a.y - b.y) >= TAG.height).toBe(true);
  });
  it("keeps names inside the picture", () => {
    for (const { x, y } of placeTags(rail(8, 45), 360, 200)) {
      expect(x).toBeGreaterThanOrEqual(TAG.width / 2);
      expect(x).toBeLessThanOrEqual(360 - TAG.width / 2);
      expect(y).toBeGreaterThanOrEqual(TAG.height / 2 - 1);
      expect(y).toBeLessThanOrEqual(200 - TAG.height / 2);
    }
  });
});
