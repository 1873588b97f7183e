/** Keys of a scanner come faster than anybody types. */
export const GAP_MS = 50;
const LEAST_KEYS = 6;

/** Without an ending key the rest must be surer: faster, longer, and followed by silence. */
const UNENDED_GAP_MS = 30;
const UNENDED_KEYS = 9;
export const SILENCE_MS = 120;

/** How a scanner writes the separator of fields (FNC1), as the keyboard gives it. */
export const SEPARATOR = "\u001d";

/**
 * Tells the keys of a wedge scanner from those of a person.
 *
 * A scan is at least six characters with no gap above 50 ms, ended by Enter or Tab as fast as
 * the rest. A scanner that is set to send no ending key is heard as well: nine characters with no
 * gap above 30 ms, then silence of 120 ms. Limits are from memory of common scanners; no source.
 */
export class WedgeEar {
  #text = "";
  #slowest_ms = 0;
  #last_ms = Number.NEGATIVE_INFINITY;

  /** Takes one key with the time it came, and gives the scan that it ends. */
  hear(key: string, at_ms: number): string | null {
    const gap_ms = at_ms - this.#last_ms;
    const quick = gap_ms <= GAP_MS;
    if (key === "Enter" || key === "Tab") {
      const scanned = quick && this.#text.length >= LEAST_KEYS && !isHeldKey(this.#text);
      const text = scanned ? this.#text : null;
      this.forget();
      return text;
    }
    // Shift and the like come between the characters of a scan and end nothing.
    if (key.length !== 1) return null;
    this.#slowest_ms = quick && this.#text ? Math.max(this.#slowest_ms, gap_ms) : 0;
    this.#text = quick ? this.#text + key : key;
    this.#last_ms = at_ms;
    return null;
  }

  /** After silence: the scan that came without an ending key, where it was one. */
  silence(at_ms: number): string | null {
    const still = at_ms - this.#last_ms >= SILENCE_MS;
    const fast = this.#slowest_ms <= UNENDED_GAP_MS && this.#text.length >= UNENDED_KEYS;
    if (!still || !fast || isHeldKey(this.#text)) return null;
    const text = this.#text;
    this.forget();
    return text;
  }

  forget(): void {
    this.#text = "";
    this.#slowest_ms = 0;
    this.#last_ms = Number.NEGATIVE_INFINITY;
  }
}

/** A key that is held down repeats as fast as a scanner types. */
function isHeldKey(text: string): boolean {
  return new Set(text).size === 1;
}
