export const words = {
  title: "Journal",
  noteText: "Note",
  noteSend: "Add the note",
  filter: "Only about this label, address, tag or part number",
  filterDo: "Show",
  clear: "Show everything",
  verify: "Check the whole store",
  verifyLead:
    "Follows the chain of hashes, rebuilds every table from the journal and compares. Nothing is changed.",
  verifying: "Checking",
  head: "Hash of the newest entry",
  older: "Older entries",
  none: "No entries.",
  entries: "Entries",
  aside: "Set aside",
  asideLead:
    "Records that no longer fitted when they arrived. Look at what was meant, record it anew if it still holds, and say what was done.",
  noAside: "Nothing is waiting to be settled.",
  settle: "What was done about it",
  settleDo: "Settled",
  whatWasSent: "What was sent",
  corrects: "puts an earlier entry right",
};
