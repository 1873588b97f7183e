import type {
  BinShelf,
  HandedOut,
  LotLine,
  OrderLine,
  ReservationLine,
  Shelf,
  SpareLine,
  UnitLine,
} from "../../../api/generated";

/** How far ahead the clerk's day looks, and how old a count may be; decisions, no source. */
export const AHEAD_D = { deliveries: 30, reservations: 7, lots: 90 } as const;
export const COUNT_AGE_D = 365;

/** What waits for the stores clerk, each list with the most pressing first. */
export interface Day {
  /** To order, to fetch, or lacking with nobody who sells it; what matters most first. */
  wanted: SpareLine[];
  late: OrderLine[];
  due: OrderLine[];
  reservations: ReservationLine[];
  lots: LotLine[];
  /** In somebody's hands, or taken by a swap under way, wherever they lie; the longest first. */
  handedOut: (UnitLine & { handed_out: HandedOut })[];
  /** On the bench, and handed out to nobody. */
  bench: UnitLine[];
  /** Not found at a count. */
  lost: UnitLine[];
  bins: BinShelf[];
}

/** Moves a `YYYY-MM-DD` by days. */
export function moved(day: string, by_d: number): string {
  return new Date(Date.parse(`${day}T12:00:00Z`) + by_d * 86_400_000).toISOString().slice(0, 10);
}

export function dayOf(
  shelf: Shelf,
  orders: OrderLine[],
  reservations: ReservationLine[],
  wanted: SpareLine[],
  today: string,
): Day {
  const open = sorted(
    orders.filter(({ closed, outstanding }) => !closed && outstanding > 0),
    ({ due_on }) => due_on ?? "9999",
  );
  const by = (ahead_d: number) => moved(today, ahead_d);
  const bins = shelf.storerooms.flatMap(({ bins }) => bins);
  const at = (wanted: string) =>
    sorted(
      shelf.elsewhere.filter(({ place, handed_out }) => place === wanted && !handed_out),
      ({ since }) => since,
    );
  const units = [...bins.flatMap(({ units }) => units), ...shelf.elsewhere];
  return {
    wanted: [...wanted].sort((a, b) => a.rank - b.rank),
    late: open.filter(({ late_d }) => late_d),
    due: open.filter(({ due_on }) => due_on && due_on >= today && due_on <= by(AHEAD_D.deliveries)),
    reservations: sorted(
      reservations.filter(({ until }) => until && until <= by(AHEAD_D.reservations)),
      ({ until }) => until ?? "",
    ),
    lots: sorted(
      lotsOf(bins).filter(({ shelf_until }) => shelf_until && shelf_until <= by(AHEAD_D.lots)),
      ({ shelf_until }) => shelf_until ?? "",
    ),
    handedOut: sorted(
      units.flatMap((unit) => (unit.handed_out ? [{ ...unit, handed_out: unit.handed_out }] : [])),
      ({ handed_out }) => handed_out.at ?? "9999",
    ),
    bench: at("bench"),
    lost: at("lost"),
    bins: sorted(
      bins.filter(({ counted_at }) => (counted_at ?? "").slice(0, 10) < by(-COUNT_AGE_D)),
      ({ counted_at }) => counted_at ?? "",
    ),
  };
}

/** Each lot once, with the pieces of all its bins. */
export function lotsOf(bins: BinShelf[]): LotLine[] {
  const once = new Map(bins.flatMap(({ lots }) => lots).map((lot) => [lot.label, lot]));
  return [...once.values()].map((lot) => ({
    ...lot,
    pieces: lot.bins.reduce((sum, { pieces }) => sum + pieces, 0),
  }));
}

function sorted<T>(list: T[], key: (item: T) => string): T[] {
  return [...list].sort((a, b) => key(a).localeCompare(key(b)));
}
