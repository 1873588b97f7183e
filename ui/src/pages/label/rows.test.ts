import { describe, expect, it } from "vitest";
import type { FoundLabel } from "../../api/generated";
import { rowsOf } from "./rows";

function found(text: string, x: number, y: number): FoundLabel {
  const corners = [
    { x: x - 20, y: y - 20 },
    { x: x + 20, y: y - 20 },
    { x: x + 20, y: y + 20 },
    { x: x - 20, y: y + 20 },
  ];
  return { corners, thing: { text } } as unknown as FoundLabel;
}

const texts = (labels: FoundLabel[]) =>
  rowsOf(labels).map((row) => row.map(({ thing }) => thing.text).join(""));

describe("rowsOf", () => {
  it("reads two rails from top to bottom, each from left to right", () => {
    const labels = [found("d", 300, 500), found("b", 300, 100), found("a", 100, 100)];
    expect(texts([...labels, found("c", 100, 500)])).toEqual(["ab", "cd"]);
  });
  it("follows a rail that runs askew", () => {
    const askew = [0, 1, 2, 3, 4, 5].map((at) => found(`${at}`, at * 100, 100 + at * 30));
    expect(texts(askew)).toEqual(["012345"]);
  });
  it("has no rows where nothing was found", () => {
    expect(rowsOf([])).toEqual([]);
  });
});
