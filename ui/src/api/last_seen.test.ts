import { expect, it } from "vitest";
import { LastSeen } from "./last_seen";

const AT = new Date("2026-03-01T08:00:00Z");

it("gives the newest reply to a question", () => {
  const seen = new LastSeen(3);
  seen.keep("a", 1, AT);
  seen.keep("a", 2, AT);
  expect(seen.of("a")).toEqual({ reply: 2, at: AT });
  expect(seen.of("b")).toBeNull();
});

it("forgets what was not seen for longest", () => {
  const seen = new LastSeen(2);
  for (const question of ["a", "b", "a", "c"]) seen.keep(question, question, AT);
  expect(seen.of("a")?.reply).toBe("a");
  expect(seen.of("b")).toBeNull();
  expect(seen.of("c")?.reply).toBe("c");
});
