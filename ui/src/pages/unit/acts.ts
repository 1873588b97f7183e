import type { UnitLine } from "../../api/generated";

/** What a clerk may do with a unit that stands in no slot. */
export interface Act {
  name:
    | "tested"
    | "shelf"
    | "bench"
    | "repair"
    | "back"
    | "hold"
    | "lift"
    | "found"
    | "wrong"
    | "scrap";
  /** Where it goes; `bin` asks which, null leaves it where it is. */
  to: "bin" | "bench" | "repair" | "scrapped" | null;
  /** What it is afterwards; null asks, `same` leaves it. */
  condition: "good" | "suspect" | "failed" | "quarantined" | "same" | null;
}

const ACTS: Record<Act["name"], Act> = {
  tested: { name: "tested", to: null, condition: null },
  shelf: { name: "shelf", to: "bin", condition: "same" },
  bench: { name: "bench", to: "bench", condition: "same" },
  repair: { name: "repair", to: "repair", condition: "failed" },
  back: { name: "back", to: "bin", condition: null },
  hold: { name: "hold", to: null, condition: "quarantined" },
  lift: { name: "lift", to: null, condition: "good" },
  found: { name: "found", to: "bin", condition: null },
  wrong: { name: "wrong", to: null, condition: "suspect" },
  scrap: { name: "scrap", to: "scrapped", condition: "failed" },
};

/** The acts that fit where a unit is, the usual one first. */
export function actsOf({
  place,
  condition,
  handed_out,
}: Pick<UnitLine, "place" | "condition"> & Partial<Pick<UnitLine, "handed_out">>): Act[] {
  // Somebody has it in hand: it came out of no slot, so there is nothing to test.
  if (handed_out?.at && !handed_out.swap)
    return (["wrong", "hold", "scrap"] as const).map((name) => ACTS[name]);
  const hold: Act["name"] = condition === "quarantined" ? "lift" : "hold";
  const names: Record<string, Act["name"][]> = {
    bench: ["tested", "shelf", "repair", hold, "scrap"],
    repair: ["back", "scrap"],
    lost: ["found", "scrap"],
    scrapped: [],
  };
  const onShelf: Act["name"][] = ["shelf", "bench", "repair", hold, "scrap"];
  return (names[place] ?? onShelf).map((name) => ACTS[name]);
}
