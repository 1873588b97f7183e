import { beforeEach, describe, expect, it, vi } from "vitest";

type Sent = { path: string; body: Record<string, unknown> };

const kept = new Map<string, string>();
const sent: Sent[] = [];
let answer: (body: Record<string, unknown>) => Response;

vi.stubGlobal("localStorage", {
  getItem: (key: string) => kept.get(key) ?? null,
  setItem: (key: string, text: string) => void kept.set(key, text),
});
vi.stubGlobal("fetch", async (path: string, request: RequestInit) => {
  const body = JSON.parse(request.body as string) as Record<string, unknown>;
  sent.push({ path, body });
  return answer(body);
});

const json = (status: number, body: unknown) => new Response(JSON.stringify(body), { status });
const taken = () => json(200, { entry: "e", repeated: false, message: "noted" });
const refused = (kind: string, message: string) => json(409, { kind, message, details: [] });
const unreachable = (): Response => {
  throw new TypeError("fetch failed");
};

const { pending, record, sendWaiting } = await import("./record.svelte");
const note = (text: string) => record("journal.note", { subject: "+K12", text });

beforeEach(async () => {
  answer = taken;
  await sendWaiting();
  sent.length = 0;
  pending.aside = [];
});

describe("record", () => {
  it("sends an id and the time, and gives the reply", async () => {
    const done = await note("warm");
    expect(done).toEqual({
      waits: false,
      reply: { entry: "e", repeated: false, message: "noted" },
    });
    expect(sent[0]!.path).toBe("/api/journal.note");
    expect(sent[0]!.body).toMatchObject({ subject: "+K12", text: "warm" });
    expect(sent[0]!.body.id).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-7/);
    expect(sent[0]!.body).not.toHaveProperty("queued");
  });

  it("keeps it without a connection and sends it later under the same id, marked as queued", async () => {
    answer = unreachable;
    expect((await note("warm")).waits).toBe(true);
    expect(pending.waiting).toHaveLength(1);
    answer = taken;
    await sendWaiting();
    expect(pending.waiting).toHaveLength(0);
    expect(sent.at(-1)!.body).toMatchObject({ id: sent[0]!.body.id, queued: true, text: "warm" });
    expect(sent.at(-1)!.body.happened_at).toBe(sent[0]!.body.happened_at);
  });

  it("does not let a later record overtake one that waits", async () => {
    answer = unreachable;
    await note("first");
    await note("second");
    answer = taken;
    sent.length = 0;
    await note("third");
    expect(sent.map(({ body }) => body.text)).toEqual(["first", "second", "third"]);
  });

  it("passes a refusal on and keeps nothing", async () => {
    answer = () => refused("refused", "the bin is empty");
    await expect(note("warm")).rejects.toThrow("the bin is empty");
    expect(pending.waiting).toHaveLength(0);
  });

  it("keeps nothing that is known to be wrong", async () => {
    answer = unreachable;
    const wrong = () => {
      throw new Error("another unit");
    };
    await expect(record("journal.note", { subject: "a", text: "b" }, wrong)).rejects.toThrow(
      "another",
    );
    expect(pending.waiting).toHaveLength(0);
  });

  it("says what the server set aside, and leaves the rest of the outbox going", async () => {
    answer = unreachable;
    await note("first");
    await note("second");
    answer = ({ text }) => (text === "first" ? refused("set_aside", "no longer fits") : taken());
    await sendWaiting();
    expect(pending.aside).toEqual(["no longer fits"]);
    expect(pending.waiting).toHaveLength(0);
  });

  it("holds what this person may not do, with the reason", async () => {
    answer = unreachable;
    await note("warm");
    answer = () => refused("not_allowed", "ask the owner");
    await sendWaiting();
    expect(pending.waiting[0]!.held).toBe("ask the owner");
    answer = taken;
    expect((await note("next")).waits).toBe(false);
  });

  it("waits for the door to be well again", async () => {
    answer = unreachable;
    await note("warm");
    answer = () => refused("broken", "the disk is full");
    await sendWaiting();
    expect(pending.waiting).toHaveLength(1);
    expect(pending.waiting[0]!.held).toBeUndefined();
  });
});
