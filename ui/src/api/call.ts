import { asFailure, Failure } from "./failure";
import { FACTS, type Commands } from "./generated";
import { words } from "../words/api";

export type CommandName = keyof Commands;
export type Input<N extends CommandName> = Commands[N]["input"];
export type Reply<N extends CommandName> = Commands[N]["reply"];

/** Asks one command and gives its reply; fails with a [`Failure`]. */
export async function call<N extends CommandName>(name: N, input: Input<N>): Promise<Reply<N>> {
  const answer = await reach(`/api/${name}`, {
    method: "POST",
    ...body(name, input),
    credentials: "same-origin",
  });
  if (!answer.ok) {
    const failure = await Failure.read(answer);
    if (failure.kind === "not_identified") notLetIn.forEach((hear) => hear());
    throw failure;
  }
  const file = FACTS[name].gives === "file";
  return (file ? await answer.blob() : await answer.json()) as Reply<N>;
}

/** Asks for a file and hands it to the browser to keep. */
export async function download<N extends CommandName>(
  name: N,
  input: Input<N>,
  file: string,
): Promise<void> {
  const blob = (await call(name, input)) as Blob;
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = file;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

/** Gives the pass of this device to the door, which answers with a session. */
export async function enter(pass: string): Promise<void> {
  const answer = await reach("/enter", {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify({ pass }),
    credentials: "same-origin",
  });
  if (!answer.ok) throw await Failure.read(answer);
}

const notLetIn = new Set<() => void>();

/** Calls `hear` whenever the door answers that it does not know this device. */
export function whenNotLetIn(hear: () => void): () => void {
  notLetIn.add(hear);
  return () => notLetIn.delete(hear);
}

function body<N extends CommandName>(name: N, input: Input<N>): RequestInit {
  if (FACTS[name].takes === "bytes") {
    const blob = input as Blob;
    const type = blob.type || "application/octet-stream";
    return { body: blob, headers: { "content-type": type } };
  }
  return { body: JSON.stringify(input), headers: { "content-type": "application/json" } };
}

async function reach(path: string, request: RequestInit): Promise<Response> {
  try {
    return await fetch(path, request);
  } catch (thrown) {
    // `fetch` throws a TypeError where nothing answered.
    if (thrown instanceof TypeError) throw new Failure("no_connection", words.noConnection);
    throw asFailure(thrown);
  }
}
