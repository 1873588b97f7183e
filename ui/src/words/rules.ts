import { severities } from "./findings";

export const words = {
  title: "Rules",
  link: "Rules",
  of: (rule: string) => `rule ${rule}`,
  ofTheSite: "added by this site",
  lead: "A swap and a line-up are held against these rules, and each finding names the one that it is of.",
  change:
    "To change a rule, name it in the list rules of site.json (on, severity, limits); to add one, write it into own_rules there; then import the folder again.",
  swaps: "Rules of a swap",
  swapsLead: "Each looks at a spare for a slot.",
  lineups: "Rules of a line-up",
  lineupsLead: "Each looks at what stands together on a rail or in a cabinet.",
  missing: (rule: string) =>
    `There is no rule ${rule} any more. Older findings that name it keep what they said.`,
  own: "Added by this site",
  fixed: "Fixed",
  otherwise: "Set or added by this site",
  fixedWhy:
    "A rule that is fixed protects people or is mechanical: it cannot be switched off or softened, and nobody may take on a stop by it.",
  off: "Switched off here",
  set: "Set by this site",
  broken: (severity: string) => `When it is broken: ${said(severity)}`,
  unknown: (severity: string) => `When data are missing: ${said(severity)}`,
  ours: (severity: string) => `(as it came: ${said(severity)})`,
  limit: (value: number, unit: string) => [figure(value), unit].filter(Boolean).join(" "),
  oursLimit: (value: string) => `(as it came: ${value})`,
  source: (source: string) => `Source: ${source}`,
  applies: "Where it applies",
  everywhere: "Everywhere",
  must: "What must hold",
  toDo: "What to do",
  facts: "What a rule of your own can ask",
  factsLead:
    "A condition is one fact and one comparison. All conditions under where must hold for a rule to apply, and all under must to pass. What is not recorded is said and never passes; a fact that says nothing of a thing leaves it alone.",
  asked: (of: string, kind: string, some: string[], comparisons: string[]) =>
    `Asked of ${of}: ${[factKinds[kind] ?? kind, some.join(", ")].filter(Boolean).join(" ")}. Compared by ${comparisons.join(", ")}.`,
  both: "swaps and items",
  swapsOnly: "swaps",
  itemsOnly: "items of a line-up",
};

/** The severity as it stands within a sentence. */
function said(severity: string): string {
  return (severities[severity] ?? severity).toLowerCase();
}

function figure(value: number): string {
  return value.toLocaleString("en-GB", { maximumFractionDigits: 4 });
}

const factKinds: Record<string, string> = {
  text: "a text",
  word: "one of",
  yes_no: "yes or no (true or false)",
  number: "a number",
  firmware: "a text, in the order of its numbers",
  revision: "a text, in the order of the catalogue",
};
