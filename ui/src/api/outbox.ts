import type { CommandName } from "./call";

/** A record that could not be sent yet, under the id that it keeps for ever. */
export interface Waiting {
  id: string;
  name: CommandName;
  input: Record<string, unknown>;
  happened_at: string;
  /** Why the door would not take it, where it was reached. */
  held?: string;
}

/** How one attempt to send ended. */
export type Sent =
  | { end: "taken" }
  | { end: "set_aside"; message: string }
  | { end: "held"; message: string }
  | { end: "no_connection" };

/** The part of `Storage` that the outbox needs. */
export type Shelf = Pick<Storage, "getItem" | "setItem">;

const PLACE = "slotkeep.outbox";

/**
 * Records waiting to be sent, oldest first.
 *
 * A record leaves only when the server has it: taken, sent before, or set aside there. One that
 * is held (say, the device's person may not do this) stays and does not bar those behind it.
 */
export class Outbox {
  #shelf: Shelf;
  #sending: Promise<string[]> | null = null;

  constructor(shelf: Shelf) {
    this.#shelf = shelf;
  }

  /** All that waits. What cannot be read as a list counts as nothing. */
  waiting(): Waiting[] {
    try {
      const kept: unknown = JSON.parse(this.#shelf.getItem(PLACE) ?? "[]");
      return Array.isArray(kept) ? (kept as Waiting[]) : [];
    } catch {
      return [];
    }
  }

  /** Keeps a record; throws where the device has no room. Keeping it twice changes nothing. */
  keep(record: Waiting): void {
    const all = this.waiting();
    if (all.some((kept) => kept.id === record.id)) return;
    this.#write([...all, record]);
  }

  /** Takes a record out for good. */
  drop(id: string): void {
    this.#write(this.waiting().filter((kept) => kept.id !== id));
  }

  /**
   * Sends all in order and stops where there is no connection.
   *
   * Gives the messages of records that were set aside at the server. A call while another is
   * under way waits for that one.
   */
  flush(send: (record: Waiting) => Promise<Sent>): Promise<string[]> {
    this.#sending ??= this.#flush(send).finally(() => (this.#sending = null));
    return this.#sending;
  }

  async #flush(send: (record: Waiting) => Promise<Sent>): Promise<string[]> {
    const aside: string[] = [];
    for (const record of this.waiting()) {
      const sent = await send(record);
      if (sent.end === "no_connection") break;
      if (sent.end === "held") this.#hold(record.id, sent.message);
      else this.drop(record.id);
      if (sent.end === "set_aside") aside.push(sent.message);
    }
    return aside;
  }

  #hold(id: string, held: string): void {
    this.#write(this.waiting().map((kept) => (kept.id === id ? { ...kept, held } : kept)));
  }

  #write(records: Waiting[]): void {
    this.#shelf.setItem(PLACE, JSON.stringify(records));
  }
}
