import { counted } from "./counted";

export const words = {
  title: "Failure rate",
  fitAxis: "Failures in 1e9 h",
  howLikely: "How likely",
  drawing: (model: string) =>
    `What is believed of the failure rate of ${model}, before and after the site's own records; the table says the same`,
  before: "Before the site's records",
  after: "With the site's records",
  interval: "9 of 10 between",
  means: "Mean",
  fit: (rate: string) => `${rate} in 1e9 h`,
  stated: "Catalogue, at the cabinets' temperature",
  statedBy: {
    fit: "stated as failures in 1e9 h",
    mtbf: "stated as a mean time between failures",
    parts_count: "stated as a count of parts",
    none: "nothing is stated",
  } as Record<string, string>,
  range: (low: string, high: string) => `${low} to ${high}`,
  notStated: "not stated",
  learned: "With the site's records",
  worth: "Worth",
  worthFailures: (count: string) => `${count} failures`,
  records: "Seen here",
  failuresIn: (failures: number, years: string) =>
    `${counted(failures, "failure")} in ${years} unit-years`,
  noFault: "Removed, no fault found",
  noFaultWhy: "They take a spare and are no failures.",
  leftOut: "Left out",
  leftOutStays: (count: number) =>
    count === 1
      ? "1 stay in a slot whose first day is not known or contradicts another"
      : `${count} stays in slots whose first day is not known or contradicts another`,
  pooled: "Family",
  share: "Share of what was seen",
  standing: "Where it stands",
  cabinet: "Cabinet",
  units: "Units",
  temperature: "Temperature",
  temperatures: {
    logged: "logged",
    monthly: "monthly means",
    yearly: "yearly mean",
    site: "the site's",
  } as Record<string, string>,
  factor: "Times as fast",
  served: "Served by",
  wear: "Wear",
  scale: "Scale, years",
  shape: "Shape",
  shapeRange: (low: string, high: string) => `${low} to ${high}, with a chance of 95 %`,
  nextYear: "Failures expected in the next year",
  wearUsed: "The demand follows the ages of the units.",
  wearUnused: "The demand follows the constant rate.",
};
