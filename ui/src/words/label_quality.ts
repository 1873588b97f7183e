export const words = {
  title: "Quality of printed labels",
  about:
    "A photo or scan from straight above shows how well labels are printed, so that a fading one is printed again before nobody can read it.",
  photo: "Photo of labels",
  another: "Another photo",
  grading: "Grading the labels",
  photoOf: "The picture with every graded label outlined",
  parameters: "Figures in the terms of ISO/IEC 15415",
  made: (version: number, level: string, module_px: number, growth_pct: number) =>
    `Version ${version}, level ${level}; a module is ${module_px.toFixed(1)} pixels wide. Dark edges are ${Math.abs(growth_pct).toFixed(0)} % of a module too far ${growth_pct < 0 ? "in" : "out"} (not graded).`,
  caveat:
    "A phone is no calibrated instrument: light paper counts as 100 %, shadows and slant lower the grades. Compare photos taken the same way.",
  link: "Quality of printed labels",
};
