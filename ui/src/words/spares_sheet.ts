export const words = {
  csv: "Save as CSV",
  xlsx: "Save as spreadsheet",
};
