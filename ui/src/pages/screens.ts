import type { Component } from "svelte";
import { words as rules } from "../words/rules";
import { words } from "../words/site";
import Audit from "./audit/Audit.svelte";
import Batteries from "./battery/Batteries.svelte";
import Change from "./battery/Change.svelte";
import Readiness from "./battery/power/Readiness.svelte";
import Journal from "./journal/Journal.svelte";
import Labels from "./label/Labels.svelte";
import Open from "./label/Open.svelte";
import Quality from "./label/Quality.svelte";
import Read from "./label/Read.svelte";
import Lineup from "./lineup/Lineup.svelte";
import PlanRail from "./lineup/PlanRail.svelte";
import ModelCard from "./model/ModelCard.svelte";
import Models from "./model/Models.svelte";
import People from "./people/People.svelte";
import Cabinet from "./place/Cabinet.svelte";
import Cabinets from "./place/Cabinets.svelte";
import Slot from "./place/Slot.svelte";
import Rules from "./rule/Rules.svelte";
import Home from "./site/Home.svelte";
import More from "./site/More.svelte";
import Unknown from "./site/Unknown.svelte";
import SpareModel from "./spares/model/SpareModel.svelte";
import Orders from "./spares/Orders.svelte";
import Spares from "./spares/Spares.svelte";
import Bin from "./stock/Bin.svelte";
import Lot from "./stock/Lot.svelte";
import Shelf from "./stock/Shelf.svelte";
import Effects from "./swap/Effects.svelte";
import Fits from "./swap/Fits.svelte";
import Lend from "./swap/Lend.svelte";
import NewSwap from "./swap/NewSwap.svelte";
import Swap from "./swap/Swap.svelte";
import Swaps from "./swap/Swaps.svelte";
import UnitCard from "./unit/UnitCard.svelte";

/** Every screen by the first word of its address. */
const SCREENS: Record<string, { screen: Component; title: string }> = {
  "": { screen: Home, title: words.home },
  more: { screen: More, title: words.more },
  read: { screen: Read, title: words.read },
  open: { screen: Open, title: words.read },
  cabinets: { screen: Cabinets, title: words.cabinets },
  cabinet: { screen: Cabinet, title: words.cabinets },
  lineup: { screen: Lineup, title: words.cabinets },
  "lineup-plan": { screen: PlanRail, title: words.cabinets },
  audit: { screen: Audit, title: words.cabinets },
  rules: { screen: Rules, title: rules.title },
  slot: { screen: Slot, title: words.cabinets },
  unit: { screen: UnitCard, title: words.read },
  models: { screen: Models, title: words.models },
  model: { screen: ModelCard, title: words.models },
  batteries: { screen: Batteries, title: words.batteries },
  battery: { screen: Change, title: words.batteries },
  "power-off": { screen: Readiness, title: words.batteries },
  swaps: { screen: Swaps, title: words.swaps },
  swap: { screen: Swap, title: words.swaps },
  "swap-new": { screen: NewSwap, title: words.swaps },
  "swap-lend": { screen: Lend, title: words.swaps },
  "swap-effects": { screen: Effects, title: words.swaps },
  "swap-fits": { screen: Fits, title: words.swaps },
  shelf: { screen: Shelf, title: words.shelf },
  bin: { screen: Bin, title: words.shelf },
  lot: { screen: Lot, title: words.shelf },
  orders: { screen: Orders, title: words.orders },
  spares: { screen: Spares, title: words.spares },
  spare: { screen: SpareModel, title: words.spares },
  labels: { screen: Labels, title: words.labels },
  quality: { screen: Quality, title: words.labels },
  journal: { screen: Journal, title: words.journal },
  people: { screen: People, title: words.people },
};

export function screenOf(page: string): Component {
  return SCREENS[page]?.screen ?? Unknown;
}

export function titleOf(page: string): string {
  return SCREENS[page]?.title ?? words.home;
}
