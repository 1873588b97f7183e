import { describe, expect, it } from "vitest";
import type { FoundLabel, PhotoReading } from "../../api/generated";
import { Aim } from "./aim";

/** A symbol of 60 px with its middle at x, y. */
function found(label: string, x: number, y: number, kind = "unit"): FoundLabel {
  const corners = [
    { x: x - 30, y: y - 30 },
    { x: x + 30, y: y - 30 },
    { x: x + 30, y: y + 30 },
    { x: x - 30, y: y + 30 },
  ];
  const thing = {
    kind,
    label,
    label_human: label,
    key: label,
    text: label,
    message: "",
    scrapped: false,
  };
  return { corners, thing, symbology: "QR Code", reader: "first" } as unknown as FoundLabel;
}

function frame(...labels: FoundLabel[]): PhotoReading {
  return { width_px: 1280, height_px: 720, found: labels, message: "" } as unknown as PhotoReading;
}

describe("Aim", () => {
  it("opens the one label in the frame once two frames agree", () => {
    const aim = new Aim();
    const one = found("A", 640, 360);
    expect(aim.note(frame(one), 0)).toBeNull();
    expect(aim.note(frame(one), 80)?.thing.label).toBe("A");
  });

  it("opens nothing while the hand sweeps from label to label", () => {
    const aim = new Aim();
    for (let at = 0; at < 10; at++)
      expect(aim.note(frame(found(`L${at}`, 640, 360)), at * 80)).toBeNull();
  });

  it("leaves several in the frame to be chosen from", () => {
    const aim = new Aim();
    const both = frame(found("A", 560, 360), found("B", 720, 360));
    for (let at = 0; at < 5; at++) expect(aim.note(both, at * 80)).toBeNull();
    expect(aim.seen.map(({ key }) => key)).toEqual(["A", "B"]);
  });

  it("opens the one in the frame though others lie outside of it", () => {
    const aim = new Aim();
    const all = frame(
      found("far left", 80, 360),
      found("A", 640, 360),
      found("far right", 1200, 360),
    );
    aim.note(all, 0);
    expect(aim.note(all, 80)?.thing.label).toBe("A");
  });

  it("does not open a label outside of the frame", () => {
    const aim = new Aim();
    const edge = frame(found("A", 80, 360));
    for (let at = 0; at < 5; at++) expect(aim.note(edge, at * 80)).toBeNull();
    expect(aim.seen).toHaveLength(1);
  });

  it("opens nothing that is not ours, and is not disturbed by it", () => {
    const aim = new Aim();
    const beside = frame(found("?", 600, 360, "foreign"), found("A", 700, 360));
    aim.note(beside, 0);
    expect(aim.note(beside, 80)?.thing.label).toBe("A");
    const alone = frame(found("?", 640, 360, "foreign"));
    for (let at = 2; at < 6; at++) expect(aim.note(alone, at * 80)).toBeNull();
  });

  it("starts anew after a frame without the label", () => {
    const aim = new Aim();
    const one = frame(found("A", 640, 360));
    aim.note(one, 0);
    aim.note(frame(), 80);
    expect(aim.note(one, 160)).toBeNull();
  });

  it("keeps a label on the screen for half a second", () => {
    const aim = new Aim();
    aim.note(frame(found("A", 80, 360)), 0);
    aim.note(frame(), 400);
    expect(aim.seen).toHaveLength(1);
    aim.note(frame(), 600);
    expect(aim.seen).toHaveLength(0);
  });
});
