import { describe, expect, it } from "vitest";
import type { CabinetDrawing } from "../api/generated";
import { keyAngle_deg, markOf, place, viewBox } from "./drawing";

const cabinet: CabinetDrawing = {
  address: "+K12",
  label: "MPC000001A",
  title: "Intake",
  area: "A",
  area_title: "Intake",
  width_mm: 800,
  height_mm: 1000,
  rails: [
    {
      address: "+K12.1",
      title: "",
      length_mm: 700,
      y_mm: 300,
      joins: [],
      items: [
        { kind: "end_support", x_mm: 0, width_mm: 10 },
        { kind: "slot", x_mm: 10, width_mm: 25 },
      ],
    },
  ],
};

describe("place", () => {
  it("centres a rail in its cabinet and keeps items in mm along it", () => {
    const { frame, rails } = place(cabinet);
    expect(frame).toEqual({ x_mm: 0, y_mm: 0, width_mm: 800, height_mm: 1000 });
    expect(rails[0]!.bar).toEqual({ x_mm: 50, y_mm: 282.5, width_mm: 700, height_mm: 35 });
    expect(rails[0]!.items.map(({ box }) => [box.x_mm, box.width_mm])).toEqual([
      [50, 10],
      [60, 25],
    ]);
  });

  it("widens the frame for a rail longer than the cabinet, so that nothing is cut off", () => {
    const { frame } = place({ ...cabinet, width_mm: 600 });
    expect(frame.x_mm).toBe(-74);
    expect(frame.x_mm + frame.width_mm).toBeGreaterThanOrEqual(650);
  });

  it("lengthens the frame for a rail below the bottom", () => {
    expect(place({ ...cabinet, height_mm: 310 }).frame.height_mm).toBeGreaterThan(355);
  });
});

describe("viewBox", () => {
  it("adds a margin on all sides", () => {
    const box = { x_mm: 10, y_mm: 20, width_mm: 100, height_mm: 50 };
    expect(viewBox(box, 5)).toBe("5 15 110 60");
  });
});

describe("markOf", () => {
  it("gives every state a shape of its own", () => {
    const states = ["empty", "good", "suspect", "failed", "quarantined", "other_model"];
    expect(new Set(states.map(markOf)).size).toBe(states.length);
  });
  it("marks a state it does not know as one to look at", () => {
    expect(markOf("melted")).toBe("query");
  });
});

describe("keyAngle_deg", () => {
  it("turns one eighth a letter", () => {
    expect(["A", "b", "H"].map(keyAngle_deg)).toEqual([0, 45, 315]);
  });
  it("draws no angle for a letter that would look like another", () => {
    expect(["I", "1", ""].map(keyAngle_deg)).toEqual([null, null, null]);
  });
});
