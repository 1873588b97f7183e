import type { SpareLine } from "../../../api/generated";

/** Each model whose maker named a last day for orders, the nearest day first. */
export function announced(
  lines: Pick<SpareLine, "model" | "last_order_on">[],
): { model: string; last_order_on: string }[] {
  const days = new Map<string, string>();
  for (const { model, last_order_on } of lines) if (last_order_on) days.set(model, last_order_on);
  return [...days]
    .map(([model, last_order_on]) => ({ model, last_order_on }))
    .sort(
      (a, b) => a.last_order_on.localeCompare(b.last_order_on) || a.model.localeCompare(b.model),
    );
}
