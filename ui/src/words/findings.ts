export const words = {
  inOrder: (count: number) =>
    count === 1 ? "1 comparison in order" : `${count} comparisons in order`,
  unknown: "Not known:",
  doThis: "Do this:",
};

export const severities: Record<string, string> = {
  pass: "In order",
  note: "Note",
  caution: "Caution",
  stop: "Stop",
};
