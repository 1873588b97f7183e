export const words = {
  lead: "Expansions, projects and removals change how many units stand, and so what is asked for.",
  none: "No change is planned.",
  settledToo: "Settled ones too",
  add: "Plan a change",
  model: "Model",
  on: "Day",
  change: "Units more in service",
  changeHint: "A minus for fewer.",
  fromStock: "Taken from stock",
  fromStockHint: "Pieces that the work takes from the shelf.",
  harvested: "Set free as spares",
  harvestedHint: "Units that are taken out and may be used again.",
  reason: "What for",
  send: "Record the plan",
  more: (count: number) =>
    count === 0
      ? "as many as before"
      : count > 0
        ? `${count} more in service`
        : `${-count} fewer in service`,
  taken: (count: number) => `${count} from stock`,
  freed: (count: number) => `${count} set free`,
  states: {
    waiting: "planned",
    late: "its day is past: did it happen?",
    happened: "happened",
    called_off: "called off",
  } as Record<string, string>,
  settle: "Settle",
  happened: "It happened",
  calledOff: "It was called off",
  settleReason: "Remark",
  settleDo: "Record",
};
