import type { Detail, Failure as WireFailure, FailureKind } from "./generated";
import { words } from "../words/api";

/** Why a call did nothing, in a sentence to show beside what was pressed. */
export class Failure extends Error {
  readonly kind: FailureKind | "no_connection";
  readonly details: Detail[];

  constructor(kind: Failure["kind"], message: string, details: Detail[] = []) {
    super(message);
    this.kind = kind;
    this.details = details;
  }

  /** Reads the refusal in an answer; an answer that is none of ours still becomes a sentence. */
  static async read(answer: Response): Promise<Failure> {
    const text = await answer.text().catch(() => "");
    try {
      const said = JSON.parse(text) as Partial<WireFailure>;
      if (said.kind && said.message)
        return new Failure(said.kind, said.message, said.details ?? []);
    } catch {
      // Not JSON: something between here and the door answered.
    }
    const kind = answer.status === 401 ? "not_identified" : "broken";
    return new Failure(kind, words.oddAnswer(answer.status));
  }
}

/** Makes a failure of whatever was thrown. */
export function asFailure(thrown: unknown): Failure {
  if (thrown instanceof Failure) return thrown;
  return new Failure("broken", thrown instanceof Error ? thrown.message : String(thrown));
}
