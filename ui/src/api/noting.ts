import type { CommandName, Reply } from "./call";
import type { Recorded } from "./record.svelte";

/** The sentence that a taken record answers with, wherever its reply holds it. */
export function said<N extends CommandName>(recorded: Recorded<N>): string {
  if (recorded.waits) return recorded.message;
  return sentence(recorded.reply);
}

function sentence(reply: Reply<CommandName>): string {
  const found = reply as { message?: string; done?: { message?: string } };
  return found.message ?? found.done?.message ?? "";
}
