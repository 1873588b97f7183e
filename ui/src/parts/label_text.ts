/** Kinds of things that carry a label, by the letter after the site's two characters. */
const KINDS = { U: "unit", S: "slot", B: "bin", T: "lot", C: "cabinet" } as const;
export type LabelKind = (typeof KINDS)[keyof typeof KINDS];

/**
 * A scanned or typed label as the register writes it: the end of a link, without spaces and
 * dashes, letters that look like digits taken for digits.
 */
export function plainLabel(text: string): string {
  const bare = text.trim();
  const end = bare.slice(bare.lastIndexOf("/") + 1);
  return end.toUpperCase().replace(/[\s-]/g, "").replace(/O/g, "0").replace(/[IL]/g, "1");
}

/** What a label is on, as far as the text tells by itself; null where it is no label. */
export function kindOfLabel(text: string): LabelKind | null {
  const found = /^[0-9A-HJKMNP-TV-Z]{2}([USBTC])[0-9A-HJKMNP-TV-Z]{7}$/.exec(plainLabel(text));
  return found ? KINDS[found[1] as keyof typeof KINDS] : null;
}
