export const words = {
  title: "Spares",
  views: {
    "": "Level",
    rate: "Failure rate",
    demand: "Demand",
    stores: "Storerooms",
    ahead: "Projection",
  } as Record<string, string>,
  back: "All spares",
  catalogue: "Catalogue card",
  orderList: "Order list",
  nothing: (model: string) => `No storeroom holds ${model}, and no place takes it.`,
  noRate: "There is no failure rate: it is used up by work, or nothing is known.",
  lifecycles: {
    active: "",
    discontinued: "no longer made",
    recalled: "recalled",
  } as Record<string, string>,
};
