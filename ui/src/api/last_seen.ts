/** A reply as it was last seen, for when nobody answers. */
export interface Seen {
  reply: unknown;
  at: Date;
}

/**
 * Keeps the newest replies of this page, so that cards looked at before a walk into a room
 * without coverage can be looked at there.
 */
export class LastSeen {
  #most: number;
  #kept = new Map<string, Seen>();

  constructor(most: number) {
    this.#most = most;
  }

  keep(question: string, reply: unknown, at: Date): void {
    this.#kept.delete(question);
    this.#kept.set(question, { reply, at });
    const oldest = this.#kept.keys().next();
    if (this.#kept.size > this.#most && !oldest.done) this.#kept.delete(oldest.value);
  }

  of(question: string): Seen | null {
    return this.#kept.get(question) ?? null;
  }
}
