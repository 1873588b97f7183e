import { call, type CommandName, type Input, type Reply } from "./call";
import { asFailure, Failure } from "./failure";
import { Outbox, type Sent, type Waiting } from "./outbox";
import { uuid7 } from "./uuid7";
import { words } from "../words/api";

/** A record was taken by the server, or kept on the device until it can be reached. */
export type Recorded<N extends CommandName> =
  { waits: false; reply: Reply<N> } | { waits: true; message: string };

const RETRY_MS = 15_000;

const outbox = new Outbox(globalThis.localStorage);

/** What screens show of the outbox. */
export const pending = $state({
  waiting: outbox.waiting(),
  aside: [] as string[],
  sending: false,
});

/**
 * Sends a record, or keeps it in the outbox while there is no connection.
 *
 * `mayWait` is called just before it is kept, and may throw to keep a record back that is known
 * to be wrong: a scan of the wrong unit is not to be stored for later.
 */
export async function record<N extends CommandName>(
  name: N,
  input: Input<N>,
  mayWait: () => void = () => {},
): Promise<Recorded<N>> {
  const stamped: Waiting = {
    id: uuid7(),
    name,
    input: input as Record<string, unknown>,
    happened_at: new Date().toISOString(),
  };
  if (outbox.waiting().some((kept) => !kept.held)) await sendWaiting();
  if (!outbox.waiting().some((kept) => !kept.held)) {
    try {
      return { waits: false, reply: await call(name, fields(stamped) as Input<N>) };
    } catch (thrown) {
      const failure = asFailure(thrown);
      if (failure.kind !== "no_connection") throw failure;
    }
  }
  mayWait();
  keep(stamped);
  return { waits: true, message: words.queued };
}

/** Tries to send what waits; safe to call at any time. */
export async function sendWaiting(): Promise<void> {
  if (outbox.waiting().length === 0) return;
  pending.sending = true;
  try {
    pending.aside.push(...(await outbox.flush(send)));
  } finally {
    pending.sending = false;
    pending.waiting = outbox.waiting();
  }
}

/** Takes a record out that the server will not have, because its person says so. */
export function discard(id: string): void {
  outbox.drop(id);
  pending.waiting = outbox.waiting();
}

/** Sends again when the network returns and every little while. */
export function keepSending(): () => void {
  const again = () => void sendWaiting();
  const timer = setInterval(again, RETRY_MS);
  window.addEventListener("online", again);
  again();
  return () => {
    clearInterval(timer);
    window.removeEventListener("online", again);
  };
}

function keep(stamped: Waiting): void {
  try {
    outbox.keep(stamped);
  } catch {
    throw new Failure("no_connection", words.noRoom);
  }
  pending.waiting = outbox.waiting();
}

async function send(record: Waiting): Promise<Sent> {
  try {
    await call(record.name, { ...fields(record), queued: true } as never);
    return { end: "taken" };
  } catch (thrown) {
    const failure = asFailure(thrown);
    if (failure.kind === "set_aside") return { end: "set_aside", message: failure.message };
    const later = ["no_connection", "not_identified", "broken"].includes(failure.kind);
    return later ? { end: "no_connection" } : { end: "held", message: failure.message };
  }
}

function fields({ id, input, happened_at }: Waiting): Record<string, unknown> {
  return { ...input, id, happened_at };
}
