import { beforeEach, describe, expect, it } from "vitest";
import { Outbox, type Sent, type Shelf, type Waiting } from "./outbox";

class Memory implements Shelf {
  text: string | null = null;
  getItem = () => this.text;
  setItem = (_: string, text: string) => void (this.text = text);
}

const waiting = (id: string): Waiting => ({
  id,
  name: "journal.note",
  input: { subject: "+K12", text: id },
  happened_at: "2026-03-01T08:00:00Z",
});

let memory: Memory;
let outbox: Outbox;
beforeEach(() => {
  memory = new Memory();
  outbox = new Outbox(memory);
  for (const id of ["a", "b", "c"]) outbox.keep(waiting(id));
});

const ids = () => new Outbox(memory).waiting().map(({ id }) => id);

describe("Outbox", () => {
  it("keeps records over a restart of the page, in their order", () => {
    expect(ids()).toEqual(["a", "b", "c"]);
  });

  it("keeps a record once", () => {
    outbox.keep(waiting("b"));
    expect(ids()).toEqual(["a", "b", "c"]);
  });

  it("sends in order and forgets what was taken", async () => {
    const seen: string[] = [];
    await outbox.flush(async ({ id }) => {
      seen.push(id);
      return { end: "taken" };
    });
    expect(seen).toEqual(["a", "b", "c"]);
    expect(ids()).toEqual([]);
  });

  it("stops where the connection ends and loses nothing", async () => {
    const ends: Sent[] = [{ end: "taken" }, { end: "no_connection" }];
    await outbox.flush(async () => ends.shift()!);
    expect(ids()).toEqual(["b", "c"]);
  });

  it("passes on what the server set aside, and forgets it here", async () => {
    const aside = await outbox.flush(async ({ id }) =>
      id === "b" ? { end: "set_aside", message: "the lot is empty" } : { end: "taken" },
    );
    expect(aside).toEqual(["the lot is empty"]);
    expect(ids()).toEqual([]);
  });

  it("keeps what was refused with its reason and sends those behind it", async () => {
    await outbox.flush(async ({ id }) =>
      id === "a" ? { end: "held", message: "not your role" } : { end: "taken" },
    );
    expect(outbox.waiting()).toEqual([{ ...waiting("a"), held: "not your role" }]);
  });

  it("sends each record once when asked twice at the same time", async () => {
    let sent = 0;
    const send = async (): Promise<Sent> => {
      sent += 1;
      await Promise.resolve();
      return { end: "taken" };
    };
    await Promise.all([outbox.flush(send), outbox.flush(send)]);
    expect(sent).toBe(3);
  });

  it("keeps a record that came while others were being sent", async () => {
    await outbox.flush(async ({ id }) => {
      if (id === "a") outbox.keep(waiting("d"));
      return { end: "taken" };
    });
    expect(ids()).toEqual(["d"]);
  });

  it("counts a spoilt shelf as empty", () => {
    memory.text = "{not json";
    expect(outbox.waiting()).toEqual([]);
  });
});
