import type { ModelLine, PlanItem, PlanItemInput } from "../../api/generated";

/** An item of a plan that a person is changing; `id` stays with it while it moves. */
export interface Wish extends PlanItemInput {
  id: number;
}

/** The items of a rail as they would be sent back unchanged. */
export function wishesOf(items: PlanItem[]): Wish[] {
  return items.map((item, id) => ({
    id,
    kind: item.kind,
    model: item.model,
    slot: item.new ? null : item.slot,
    empty: item.empty,
    key: item.key,
    bus_address: item.bus_address,
    gap_mm: item.gap_mm,
  }));
}

/** What is sent: without the ids. */
export function sent(wishes: Wish[]): PlanItemInput[] {
  return wishes.map(({ id: _, ...item }) => item);
}

/** Moves the item at one position so that it stands at another. */
export function moved(wishes: Wish[], from: number, to: number): Wish[] {
  const end = Math.max(0, Math.min(wishes.length - 1, to));
  const rest = wishes.filter((_, at) => at !== from);
  const one = wishes[from];
  return one ? [...rest.slice(0, end), one, ...rest.slice(end)] : wishes;
}

const KIND_OF: Record<string, string> = {
  terminator: "terminator",
  end_support: "end_support",
  blank: "blank",
};

/** What can be put on a rail: units and what stands between them. */
export function goesOnRail({ kind }: ModelLine): boolean {
  return (
    kind in KIND_OF || ["controller", "module_one_piece", "module", "power_supply"].includes(kind)
  );
}

/** Adds a model at a position, under an id that no other item has. */
export function added(wishes: Wish[], model: ModelLine, at: number): Wish[] {
  const id = Math.max(-1, ...wishes.map((wish) => wish.id)) + 1;
  const kind = KIND_OF[model.kind] ?? "slot";
  const wish: Wish = { id, kind, model: model.part_no, slot: null, empty: false, gap_mm: 0 };
  return [...wishes.slice(0, at), wish, ...wishes.slice(at)];
}

/** Where something new goes when nothing is chosen: before what closes the row on the right. */
export function beforeEnd(wishes: Wish[]): number {
  let at = wishes.length;
  while (at > 0 && wishes[at - 1]!.kind !== "slot") at -= 1;
  return at;
}

/** Models that may take the place of an item: of the same kind, and on its base where it has one. */
export function replacements(item: PlanItem, models: ModelLine[]): ModelLine[] {
  const kind = (model: ModelLine) => KIND_OF[model.kind] ?? "slot";
  return models.filter(
    (model) =>
      goesOnRail(model) &&
      kind(model) === item.kind &&
      (item.kind !== "slot" || item.new || !model.base || model.base === item.base),
  );
}

/** The position into which an item is dropped that is held at `x_mm`, the item itself left out. */
export function dropAt(items: PlanItem[], held: number, x_mm: number): number {
  const others = items.filter((_, at) => at !== held);
  const past = others.findIndex((item) => x_mm < item.x_mm + item.width_mm / 2);
  return past < 0 ? others.length : past;
}
