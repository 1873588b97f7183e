export const words = {
  asLastSeen: (when: string) => `No connection: shown as it was seen at ${when}.`,
  howReckoned: "How it was reckoned",
  loading: "One moment",
  key: (scheme: string, code: string) => `Key scheme ${scheme}, letters ${[...code].join(" ")}`,
  noKey: "no key",
  scanOrType: "Scan or type",
  open: "Open",
  find: "Find",
  photo: "Take or choose a photo",
  showPhoto: "Show the photo",
  hidePhoto: "Hide the photo",
  photoOfEntry: "The photo that this entry goes by",
  noHistory: "Nothing recorded yet.",
  noLoops: "No loops are wired to it.",
  safetyFunction: "safety function",
  onLoss: "On loss:",
  channel: (number: number) => `ch. ${number}`,
  cautions: "Before you begin",
  showAll: (count: number) => `Show all ${count}`,
  since: "since",
  empty: "empty",
  drawing: (name: string) => `Cabinet ${name}, drawn to scale`,
  rail: (name: string) => `Rail ${name}`,
  close: "Close",
  dropNow: "Drop the picture: its labels are read",
  dropTheFile:
    "That is only the address of a picture. Save the picture first, then drop or choose the file.",
  liveHere: "Live camera",
  stopLive: "Stop the camera",
  less: "One less",
  more: "One more",
};

/** States of a unit or a slot, as screens say them. */
export const conditions: Record<string, string> = {
  good: "Good",
  suspect: "Suspect",
  failed: "Failed",
  quarantined: "Quarantined",
  empty: "Empty",
  other_model: "Other model",
};

export const places: Record<string, string> = {
  bench: "on the bench",
  repair: "away for repair",
  scrapped: "scrapped",
  lost: "not found",
};

/** Where a unit is that was handed out, or that a swap under way takes. */
export const handedOut = (to: string) => `handed out to ${to}`;

export const items: Record<string, string> = {
  terminator: "bus terminator",
  end_support: "end support",
  blank: "reserved width",
  base: "spare base",
};

export const bases: Record<string, string> = {
  one_piece: "One-piece, on the rail itself",
  compact: "Compact base",
  extended: "Extended base",
  intrinsically_safe: "Intrinsically safe base",
  own: "Base of its own",
};
