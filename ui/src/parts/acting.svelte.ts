import { asFailure, Failure } from "../api/failure";

/** One action of a screen: whether it runs, why it failed, what it said. */
export class Acting {
  busy = $state(false);
  failure = $state.raw<Failure | null>(null);
  message = $state("");

  /** Runs it once at a time; gives what it gave, or nothing where it failed. */
  async run<T>(
    act: () => Promise<T>,
    said: (done: T) => string = () => "",
  ): Promise<T | undefined> {
    if (this.busy) return undefined;
    this.busy = true;
    this.failure = null;
    this.message = "";
    try {
      const done = await act();
      this.message = said(done);
      return done;
    } catch (thrown) {
      this.failure = asFailure(thrown);
      return undefined;
    } finally {
      this.busy = false;
    }
  }
}
