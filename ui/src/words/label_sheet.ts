export const words = {
  distance: "Read from (mm)",
  distanceHint: "Leave it empty for the largest symbol beside a comfortable line of text.",
  level: "Least error correction",
  levels: { L: "L, 7 % may be lost", M: "M, 15 %", Q: "Q, 25 %", H: "H, 30 %" } as Record<
    string,
    string
  >,
  design: (module_mm: number, distance_mm: number, human_pt: number) =>
    `Modules of ${module_mm.toFixed(2)} mm, read from ${Math.round(distance_mm)} mm; text of ${human_pt} points.`,
  pageOf: (page: number, pages: number) => (pages === 1 ? "Page" : `Page ${page} of ${pages}`),
  pageBefore: "Page before",
  pageAfter: "Next page",
  startAt: (place: number) => `Start at label ${place}`,
  startHint: "Sheet begun before? Choose the first free label on the picture.",
  printerOff: "My printer is off",
  printerCorrected: "My printer is off: corrected",
  printerOffHow:
    "Print the test page at 100 %, measure it with a ruler, and type in the four figures written on it.",
  rollOff:
    "A roll has no test page. Print one label, measure how far its symbol is off, and enter the offset with the opposite sign.",
  testPage: "Test page",
  testPageCorrected: "Test page with the correction",
  measuredLeft: "1. Left edge to A (mm)",
  measuredTop: "2. Top edge to A (mm)",
  measuredAcross: "3. A to B (mm)",
  measuredDown: "4. A to C (mm)",
  reckon: "Reckon the correction",
  reckoned:
    "Taken over. Print the test page with the correction: the figures in brackets must come out.",
  offsetX: "Offset to the right (mm)",
  offsetY: "Offset down (mm)",
  scaleX: "Scale across",
  scaleY: "Scale down",
  noCorrection: "Without correction",
  doorSheet: "Door sheet of this cabinet",
  doorSheetHint: "One page to tape inside the door: every slot with its label to scan.",
};
