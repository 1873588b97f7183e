import { call, type CommandName, type Input, type Reply } from "./call";
import { whenChanged } from "./changes";
import { asFailure, type Failure } from "./failure";
import { LastSeen } from "./last_seen";

const SETTLE_MS = 120;
const lastSeen = new LastSeen(300);

/** Asks now what a screen will ask, so that it can be shown where there is no connection. */
export async function lookAhead<N extends CommandName>(name: N, input: Input<N>): Promise<void> {
  try {
    lastSeen.keep(questionOf(name, input), await call(name, input), new Date());
  } catch {
    // The screen asks for itself and says what is the matter.
  }
}

function questionOf<N extends CommandName>(name: N, input: Input<N>): string {
  return `${name} ${JSON.stringify(input)}`;
}

/**
 * A question that is asked again whenever its input or the register changes.
 *
 * Make it while a component is set up. `input` may answer null while there is nothing to ask.
 * The last reply stays on the screen until the next one is there. Without a connection a reply
 * that this page got earlier is shown, with the time it was seen.
 */
export class Asking<N extends CommandName> {
  reply = $state.raw<Reply<N> | null>(null);
  failure = $state.raw<Failure | null>(null);
  busy = $state(false);
  /** When the reply was got, where it is an old one. */
  seenAt = $state.raw<Date | null>(null);
  #round = 0;
  #answered = "";
  #name: N;
  #input: () => Input<N> | null;

  constructor(name: N, input: () => Input<N> | null) {
    this.#name = name;
    this.#input = input;
    let asked = "";
    $effect(() => {
      const now = input();
      const text = JSON.stringify(now);
      if (text === asked) return;
      asked = text;
      void this.#ask(now);
    });
    $effect(() => {
      let timer: ReturnType<typeof setTimeout> | undefined;
      const stop = whenChanged(() => {
        clearTimeout(timer);
        timer = setTimeout(() => this.again(), SETTLE_MS);
      });
      return () => {
        clearTimeout(timer);
        stop();
      };
    });
  }

  again(): Promise<void> {
    return this.#ask(this.#input());
  }

  async #ask(input: Input<N> | null): Promise<void> {
    const round = ++this.#round;
    if (input === null) {
      this.reply = this.failure = null;
      this.busy = false;
      return;
    }
    this.busy = true;
    const question = questionOf(this.#name, input);
    try {
      const reply = await call(this.#name, input);
      if (round !== this.#round) return;
      this.reply = reply;
      this.failure = this.seenAt = null;
      this.#answered = question;
      lastSeen.keep(question, reply, new Date());
    } catch (thrown) {
      if (round !== this.#round) return;
      this.failure = asFailure(thrown);
      // What was asked is not there, so what is on the screen is something else.
      if (this.failure.kind === "not_found") this.reply = null;
      if (this.failure.kind === "no_connection") this.#showOld(question);
    }
    this.busy = false;
  }

  /** What is on the screen for the same question is never older than what was kept. */
  #showOld(question: string): void {
    if (this.reply !== null && this.#answered === question) return;
    const seen = lastSeen.of(question);
    this.reply = (seen?.reply as Reply<N> | undefined) ?? null;
    this.seenAt = seen?.at ?? null;
    this.#answered = question;
  }
}
