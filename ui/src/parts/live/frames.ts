import { call } from "../../api/call";
import type { PhotoReading } from "../../api/generated";
import { asFailure, type Failure } from "../../api/failure";
import { Pace } from "./pace";

/** Frames on their way at once: one is made ready while the one before is being read. */
const AHEAD = 2;

/** No more than this many a second: the battery of a phone has other work. */
const MOST_PER_S = 24;

/** How long to wait after a fault, ms. */
const AFTER_FAULT_MS = 1000;

/** Where frames come from: a JPEG of the newest one, or nothing while there is none. */
export type Grab = (longest_px: number) => Promise<Blob | null>;

/**
 * Has frames read one after another, with one ahead.
 *
 * Answers that come out of turn are dropped. `onread` hears each reading with the time it came.
 */
export class Frames {
  readonly pace = new Pace();
  #on = true;
  #sent = 0;
  #shown = 0;
  #flying = 0;
  #grab: Grab;
  #onread: (reading: PhotoReading, now_ms: number) => void;
  #onfault: (failure: Failure | null) => void;

  constructor(
    grab: Grab,
    onread: (reading: PhotoReading, now_ms: number) => void,
    onfault: (failure: Failure | null) => void,
  ) {
    this.#grab = grab;
    this.#onread = onread;
    this.#onfault = onfault;
    void this.#run();
  }

  stop(): void {
    this.#on = false;
  }

  async #run(): Promise<void> {
    while (this.#on) {
      const since_ms = performance.now();
      const frame = await this.#grab(this.pace.size_px).catch(() => null);
      if (!this.#on) return;
      if (frame) void this.#read(frame, ++this.#sent);
      while (this.#on && this.#flying >= AHEAD) await rest(4);
      await rest(1000 / MOST_PER_S - (performance.now() - since_ms));
    }
  }

  async #read(frame: Blob, at: number): Promise<void> {
    this.#flying += 1;
    try {
      const reading = await call("label.read_frame", frame);
      if (!this.#on || at < this.#shown) return;
      this.#shown = at;
      const now_ms = performance.now();
      this.pace.note(now_ms, reading.found.length > 0);
      this.#onfault(null);
      this.#onread(reading, now_ms);
    } catch (thrown) {
      if (this.#on) this.#onfault(asFailure(thrown));
      await rest(AFTER_FAULT_MS);
    } finally {
      this.#flying -= 1;
    }
  }
}

function rest(ms: number): Promise<void> {
  return new Promise((done) => setTimeout(done, Math.max(0, ms)));
}
