import { getContext, setContext } from "svelte";
import { Asking } from "./asking.svelte";
import type { CommandName } from "./call";
import { FACTS, type Summary } from "./generated";

const PLACE = Symbol("site");

/** The site and who is at this device, asked once for all screens. */
export class Site {
  asking: Asking<"site.summary">;

  constructor() {
    this.asking = new Asking("site.summary", () => ({}));
  }

  get summary(): Summary | null {
    return this.asking.reply;
  }

  /** Whether this person's roles include a command; the owner's include all. */
  may(name: CommandName): boolean {
    const roles = FACTS[name].roles;
    const held = this.summary?.roles ?? [];
    return (
      roles.length === 0 || held.includes("owner") || roles.some((role) => held.includes(role))
    );
  }
}

export function provideSite(): Site {
  return setContext(PLACE, new Site());
}

export function theSite(): Site {
  return getContext<Site>(PLACE);
}
