import type { SpareLine, SpareService, SpareTarget } from "../../api/generated";
import { brief, chance } from "../../parts/format";
import { words } from "../../words/spares_list";

type Line = Pick<SpareLine, "model" | "model_title" | "storeroom" | "class">;

/** Lines that are shown at once: more are found by their words, not by leafing through. */
export const MOST_LINES = 500;

/** Lines that hold each typed word somewhere, of one class or of all. */
export function matching<L extends Line>(lines: L[], text: string, only: string): L[] {
  const wanted = text.toLowerCase().split(/\s+/).filter(Boolean);
  return lines.filter((line) => {
    const said = `${line.model} ${line.model_title} ${line.storeroom}`.toLowerCase();
    return (only === "" || line.class === only) && wanted.every((word) => said.includes(word));
  });
}

/** Whether what lies there and is on order, stand-ins counted, meets the target, by the target's own measure. */
export function met(line: {
  now: SpareService;
  with_stand_ins?: SpareService | null;
  target: SpareTarget;
}): boolean {
  const { measure, value } = line.target;
  const now = line.with_stand_ins ?? line.now;
  if (measure === "backorders") return now.backorders <= value;
  if (measure === "down_time_h") return now.down_time_h <= value;
  return (measure === "fill_rate" ? now.fill_rate : now.no_stock_out) >= value;
}

/** Service of what lies there and is on order, by the target's own measure, and what it is. */
export function served({ now, target }: { now: SpareService; target: SpareTarget }) {
  const { measure } = target;
  const what = words.measures[measure] ?? measure;
  if (measure === "backorders" || measure === "down_time_h")
    return [brief(now[measure]), what] satisfies [string, string];
  const share = measure === "fill_rate" ? now.fill_rate : now.no_stock_out;
  // A list is read across: what is nearly certain needs no more digits.
  return [share > 0.999 && share < 1 ? "> 99.9 %" : chance(share), what] satisfies [string, string];
}
