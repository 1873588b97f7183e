import { counted } from "./counted";

export const words = {
  title: "Plan of visits",
  planning: "The plan is being made",
  wishes: "What to plan for",
  horizon: "Look ahead",
  horizonSite: "the site's rule",
  years: (count: number) => counted(count, "year"),
  groupBy: "One visit goes to",
  groups: { "": "the site's rule", cabinet: "a cabinet", area: "an area" } as Record<
    string,
    string
  >,
  anew: "Plan as if nothing were agreed",
  conflicts: (count: number) =>
    count === 1
      ? "1 battery cannot be changed in time"
      : `${count} batteries cannot be changed in time`,
  dueOn: (day: string) => `due ${day}`,
  overdue: (count: number) =>
    count === 1
      ? "1 battery is overdue and comes first."
      : `${count} batteries are overdue and come first.`,
  unknown: (count: number) =>
    count === 1
      ? "1 battery cannot be planned: a figure is missing"
      : `${count} batteries cannot be planned: figures are missing`,
  moved: (count: number) => counted(count, "agreed change was moved", "agreed changes were moved"),
  movedFromTo: (from: string, to: string) => `from ${from} to ${to}`,
  movedAway: (from: string) => `from ${from}, no longer needed in this plan`,
  worth: "What it costs",
  exact: (total: string) => `This plan costs ${total}. No plan costs less.`,
  bound: (bound: string, gap: string) =>
    `No plan costs less than ${bound}; this one is at most ${gap} above.`,
  costs: {
    visits_cents: "Visits",
    changes_cents: "Changes",
    life_cents: "Life thrown away",
    loss_cents: "Memories lost, expected",
    total_cents: "Total",
  } as Record<string, string>,
  share: "Share",
  year: "Year",
  earlier: "The year before",
  later: "The year after",
  timeLine: "Visits over the year",
  drawing: (year: number, visits: number) =>
    `Time line of ${year} with ${counted(visits, "visit")}; the same stands below as a list by month`,
  mark: (day: string, scope: string, changes: string) => `${day}, ${scope}: ${changes}`,
  band: (scope: string, from: string, to: string) =>
    from === to ? `Power-off, ${scope}: ${from}` : `Power-off, ${scope}: ${from} to ${to}`,
  closedDays: (reason: string, from: string, to: string) =>
    from === to ? `No visits: ${reason}, ${from}` : `No visits: ${reason}, ${from} to ${to}`,
  today: "today",
  legendVisit: "Visit, the number says how many batteries",
  legendAgreed: "Agreed visit",
  legendOff: "Power-off",
  legendClosed: "No visits",
  noneInYear: (year: number) => `No visit in ${year}.`,
  noVisits: "No battery needs a change in the time looked at.",
  changes: (count: number) => counted(count, "battery", "batteries"),
  minutes: (count: number) =>
    [
      count >= 60 ? `${Math.floor(count / 60)} h` : "",
      count % 60 > 0 || count === 0 ? `${count % 60} min` : "",
    ]
      .filter(Boolean)
      .join(" "),
  agreed: "Agreed",
  proposed: "Proposed",
  inPowerOff: "In the planned power-off",
  early: (days: number) => (days === 0 ? "on its last day" : `${days} days before its last day`),
  overdueSince: (day: string) => `overdue since ${day}`,
  round: (round: number) => (round > 1 ? `change number ${round} from now` : ""),
  changeWith: {
    powered: "Change it with the controller powered.",
    unpowered: "Change it while the cabinet is without power.",
  } as Record<string, string>,
  take: "Take along",
  fromLot: (lot: string) => `from lot ${lot}`,
  toOrder: (day: string) => `order by ${day}`,
  noStock: "from new stock",
  cells: (count: number) => counted(count, "cell"),
  workSheet: "Work sheet (PDF)",
  begin: "Begin with the first",
  agree: "Agree to this plan",
  agreeLead:
    "Calendar, work sheets and orders follow the agreed plan. A new plan keeps its near days unless it must move them, and says so.",
  agreeConflicts: "This plan leaves batteries out that cannot be changed in time: see above.",
  allAgreed: "This plan is agreed.",
  files: "On the wall and in the pocket",
  calendar: "Calendar file",
  workList: "Work list (PDF)",
  address: "Calendar address",
  addressLead:
    "Calendar programs read the visits from this address again and again. It is shown once. It can be withdrawn under",
  addressDo: "Make an address",
  addressHere:
    "This address reaches only this machine. Open this page from another device to make one for the network.",
  copy: "Copy",
  copied: "The address is copied.",
  copyNot: "It could not be copied: mark the text and copy it by hand.",
};
