/** Keys of a scanner come faster than anybody types. */
const GAP_MS = 50;
const LEAST_KEYS = 6;

/**
 * Tells the keys of a wedge scanner from those of a person.
 *
 * A scan is at least six characters with no gap above 50 ms, ended by Enter or Tab as fast as
 * the rest. Limits are from memory of common scanners; no source.
 */
export class WedgeEar {
  #text = "";
  #last_ms = Number.NEGATIVE_INFINITY;

  /** Takes one key with the time it came, and gives the scan that it ends. */
  hear(key: string, at_ms: number): string | null {
    const quick = at_ms - this.#last_ms <= GAP_MS;
    if (key === "Enter" || key === "Tab") {
      const text = quick && this.#text.length >= LEAST_KEYS ? this.#text : null;
      this.forget();
      return text;
    }
    // Shift and the like come between the characters of a scan and end nothing.
    if (key.length !== 1) return null;
    this.#text = quick ? this.#text + key : key;
    this.#last_ms = at_ms;
    return null;
  }

  forget(): void {
    this.#text = "";
    this.#last_ms = Number.NEGATIVE_INFINITY;
  }
}
