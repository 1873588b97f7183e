import type { LotLine, Pick, PickLine } from "../../../api/generated";
import { plainLabel } from "../../../parts/label_text";

/** What is to be done with a thing whose label was scanned. */
export type Judged =
  | { may: true; take: PickLine }
  | {
      may: false;
      /** Why not: left out with a reason, another model, or another lot is to go first. */
      why: "left_out" | "other_model" | "later";
      /** What was scanned, where it is stock of this model. */
      line: PickLine | null;
      /** What to take instead; none where nothing is left. */
      instead: PickLine | null;
    };

export type Stopped = Extract<Judged, { may: false }>;

/** Holds a scan against the list; null where the list does not know it. */
export function judge(scan: string, { takes, left_out }: Pick): Judged | null {
  const label = plainLabel(scan);
  const is = (line: PickLine) => line.label === label || line.code === scan.trim();
  const take = takes.find(is);
  if (take) return { may: true, take };
  const line = left_out.find(is);
  return line ? { may: false, why: "left_out", line, instead: takes[0] ?? null } : null;
}

export const otherModel = ({ takes }: Pick): Stopped => ({
  may: false,
  why: "other_model",
  line: null,
  instead: takes[0] ?? null,
});

/** Judges a lot that the list does not need: it may go unless one beside it expires first. */
export function judgeLot(lot: LotLine, pick: Pick): Judged {
  if (lot.model !== pick.model) return otherModel(pick);
  const room = (bin: string) => bin.split("/")[0];
  const until = (day: string | null | undefined) => day ?? "9999";
  const place = lot.bins[0];
  const line: PickLine = {
    label: lot.label,
    label_human: lot.label_human,
    code: lot.code,
    bin: place?.bin ?? "",
    pieces: Math.min(place?.pieces ?? 0, pick.wanted),
    shelf_until: lot.shelf_until ?? null,
    reason: "",
  };
  const first = pick.takes.find(
    (take) =>
      room(take.bin) === room(line.bin) && until(take.shelf_until) < until(line.shelf_until),
  );
  return first ? { may: false, why: "later", line, instead: first } : { may: true, take: line };
}
