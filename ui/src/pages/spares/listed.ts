import type { SpareLine, SpareService, SpareTarget } from "../../api/generated";

type Line = Pick<SpareLine, "model" | "model_title" | "storeroom" | "class">;

/** Lines that hold each typed word somewhere, of one class or of all. */
export function matching<L extends Line>(lines: L[], text: string, only: string): L[] {
  const wanted = text.toLowerCase().split(/\s+/).filter(Boolean);
  return lines.filter((line) => {
    const said = `${line.model} ${line.model_title} ${line.storeroom}`.toLowerCase();
    return (only === "" || line.class === only) && wanted.every((word) => said.includes(word));
  });
}

/** Whether what lies there and is on order meets the target, by the target's own measure. */
export function met({ now, target }: { now: SpareService; target: SpareTarget }): boolean {
  const { measure, value } = target;
  if (measure === "backorders") return now.backorders <= value;
  if (measure === "down_time_h") return now.down_time_h <= value;
  return (measure === "fill_rate" ? now.fill_rate : now.no_stock_out) >= value;
}
