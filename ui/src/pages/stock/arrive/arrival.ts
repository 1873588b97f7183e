import type { OrderMatch } from "../../../api/generated";

/** Something that came and is not recorded yet, as the form holds it. */
export interface Arrival {
  match: OrderMatch;
  model: string;
  /** Id of the order that it came on; empty for none. */
  order: string;
  serial: string;
  revision: string;
  lot: string;
  pieces: number | null;
  made_on: string;
  shelf_until: string;
  bin: string;
  label: string;
  firmware: string;
  condition: string;
}

/** Begins with what a scan said; the order that is due first is taken until somebody says else. */
export function begin(match: OrderMatch, bin: string): Arrival {
  return {
    match,
    model: match.model ?? "",
    order: match.orders[0]?.order ?? "",
    serial: match.serial ?? "",
    revision: match.revision ?? "",
    lot: match.lot ?? "",
    pieces: null,
    made_on: match.made_on ?? "",
    shelf_until: match.shelf_until ?? "",
    bin: match.bin ?? bin,
    label: "",
    firmware: "",
    condition: "good",
  };
}

/**
 * Adds what another code of the same plate says; false where it is of something else.
 *
 * A plate often has its part number and its serial number in two codes.
 */
export function add(arrival: Arrival, match: OrderMatch): boolean {
  const other = (have: string, said: string | null | undefined) =>
    !!have && !!said && have !== said;
  if (other(arrival.model, match.model)) return false;
  if (other(arrival.serial, match.serial) || other(arrival.lot, match.lot)) return false;
  if (match.model && !arrival.model) {
    Object.assign(arrival, {
      match,
      model: match.model,
      order: match.orders[0]?.order ?? "",
      bin: match.bin ?? arrival.bin,
    });
  }
  arrival.serial ||= match.serial ?? "";
  arrival.lot ||= match.lot ?? "";
  arrival.revision ||= match.revision ?? "";
  arrival.made_on ||= match.made_on ?? "";
  arrival.shelf_until ||= match.shelf_until ?? "";
  return true;
}

/** Pieces beyond what is still to come on the order; none where it came on no order. */
export function beyond({ match, order, pieces }: Arrival): number {
  const line = match.orders.find((line) => line.order === order);
  const came = match.counted ? (pieces ?? 0) : 1;
  return line ? Math.max(0, came - line.outstanding) : 0;
}

/** Whether all is there that a record needs. */
export function complete({ match, model, serial, lot, pieces, bin }: Arrival): boolean {
  return !!model && !!bin && (match.counted ? !!lot && !!pieces : !!serial);
}
