import { counted } from "./counted";

export const words = {
  beforeCabinet: "Before you open a cabinet to put labels on",
  read: "Read a label",
  readField: "Label, address, serial number or what a scanner types",
  readHint: "A scanner works at any time on this screen, no field needs to be chosen.",
  photo: "Photo",
  dropHere: "A picture can also be pasted, or dropped anywhere on this window.",
  reading: "Reading the picture",
  found: (count: number) => counted(count, "code found", "codes found"),
  openThis: "Open",
  opening: "Looking it up",
  reader: (symbology: string, reader: string) =>
    reader === "first" ? symbology : `${symbology}, read at a closer look`,
  legend: "What the outlines mean",
  compare: (human: string) => `Recognised by the register. Does the line beside it say ${human}?`,
  itSays: "Yes, open it",
  itDoesNot: "No",
  denied: "Then it is another label: type the line beside it, or take a closer photo.",
  railHeld: (rail: string, title: string) =>
    `Rail ${rail}${title ? `, ${title}` : ""}: picture and register`,
  turned: "The picture is upside down, so it is read from right to left",
  between: "somewhere here",
  photoOf: "The picture with every code outlined",
  another: "Another picture",
  beginsSo: "Found by its beginning",
  tryAgain: "Read another label",
  labels: "Labels to print",
  which: "Which labels",
  ofCabinet: "Cabinet",
  ofStoreroom: "Storeroom",
  ofThings: "Single things",
  things: "Labels or addresses, separated by commas",
  choose: "Choose",
  kinds: "Kinds",
  format: "Sheet or roll",
  start: "First free position on the first sheet",
  dpi: "Printer dots on an inch",
  link: "Link form, for phones' own cameras",
  linkHint: "The symbol then holds an address; it needs more room on the label.",
  linkBase: "Address of the door as phones reach it",
  linkBaseHint: "Labels keep it for years: use a name that stays, not this computer alone.",
  count: (count: number) => counted(count, "label"),
  sheets: (count: number) => counted(count, "sheet"),
  none: "There is nothing of these kinds there. Choose other kinds.",
  download: "Download the PDF",
  printAt: "Print at 100 %, without fitting to the page.",
  preview: "Preview",
  more: (count: number) => `and ${count} more`,
};

export const kindsOfLabels: Record<string, string> = {
  cabinet: "Cabinets",
  slot: "Slots",
  unit: "Units",
  bin: "Bins",
  lot: "Lots",
};

/** How a place on a rail compares with the picture of it. */
export const verdicts: Record<string, string> = {
  agrees: "agrees",
  other: "another unit",
  not_seen: "not seen",
  empty: "empty",
  not_expected: "not expected",
};
