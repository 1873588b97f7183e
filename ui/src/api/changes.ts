/** What was recorded, as the door tells every screen. */
export interface Change {
  command: string;
  /** Labels, addresses, tags and part numbers; empty after an import. */
  subjects: string[];
}

/** How far a long piece of work has come. */
export interface Progress {
  task: string;
  done: number;
  total: number;
}

const changeEars = new Set<(change: Change) => void>();
const progressEars = new Set<(progress: Progress) => void>();

export function whenChanged(hear: (change: Change) => void): () => void {
  changeEars.add(hear);
  return () => changeEars.delete(hear);
}

export function whenProgress(hear: (progress: Progress) => void): () => void {
  progressEars.add(hear);
  return () => progressEars.delete(hear);
}

/**
 * Listens to the door for as long as the page is open.
 *
 * After a gap everything may have changed, so each reconnection counts as a change of everything.
 */
export function listen(): () => void {
  if (typeof EventSource === "undefined") return () => {};
  const source = new EventSource("/api/changes");
  let opened = false;
  source.addEventListener("open", () => {
    if (opened) changeEars.forEach((hear) => hear({ command: "", subjects: [] }));
    opened = true;
  });
  source.addEventListener("message", (event) => tell(changeEars, event.data));
  source.addEventListener("change", (event) => tell(changeEars, event.data));
  source.addEventListener("progress", (event) => tell(progressEars, event.data));
  return () => source.close();
}

function tell<T>(ears: Set<(said: T) => void>, data: string): void {
  try {
    const said = JSON.parse(data) as T;
    ears.forEach((hear) => hear(said));
  } catch {
    // A line that is no JSON, such as a sign of life.
  }
}
