//! What will be asked for of each model in each storeroom: at random, and on known days.

use super::battery_demand::Demand;
use super::spares_ages::ages;
pub(super) use super::spares_days::{YEAR_D, day_after, days_from};
use super::spares_facts::{Facts, Held, fails};
pub(super) use super::spares_known::Known;
use super::spares_resupply::{Repair, resupply};
use super::spares_stand_in;
use chrono::NaiveDate;
use slotkeep_domain::model::Model;
use slotkeep_domain::place::CabinetAddress;
use slotkeep_domain::spares::{
    AgeGroup, DAYS_PER_MONTH, DemandKind, Failing, LeadDemand, LeadQuestion, LeadRefusal, LeadTime,
    Life, Outlook, PlannedPieces, Pmf, Population, RateBelief, lead_demand,
};
use std::sync::OnceLock;

/// Lead time where the catalogue gives none, days (common practice, no source).
pub(super) const UNKNOWN_LEAD_TIME_D: u32 = 90;

/// What the demand for a model comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Source {
    /// Units fail at a rate, or by wear.
    Failures,
    /// Counted pieces are handed out, as they were before.
    History,
    /// Only what is planned.
    Planned,
    Nothing,
}

impl Source {
    pub fn word(self) -> &'static str {
        match self {
            Self::Failures => "failures",
            Self::History => "history",
            Self::Planned => "planned",
            Self::Nothing => "none",
        }
    }
}

/// Demand of one model in one storeroom, ready for questions about any time to come.
pub(super) struct StoreDemand {
    pub source: Source,
    pub population: Population,
    pub belief: Option<RateBelief>,
    pub no_fault_found: RateBelief,
    /// Lives with weights, and who has which age; empty where the rate is constant.
    pub lives: Vec<(f64, Life)>,
    pub ages: Vec<AgeGroup>,
    pub month: Option<Pmf>,
    /// The forecast over any time, where one storeroom's history has it all.
    pub outlook: Option<Outlook>,
    /// Known demand by day from now.
    pub planned: Vec<PlannedPieces>,
    /// Units that planned removals set free, by day from now.
    pub harvested: Vec<(f64, u32)>,
    /// From an order to the shelf.
    pub lead_time: LeadTime,
    pub lead_time_assumed: bool,
    /// From a failure until its piece is there again: repaired, or bought where it cannot be.
    pub resupply: LeadTime,
    pub repair: Option<Repair>,
    pub review_d: f64,
    /// Pieces a year, once they were asked for: wear takes long to add up.
    yearly: OnceLock<f64>,
}

/// Where demand comes from and what it asks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Share<'a> {
    /// Of one storeroom; what is planned belongs to the home one.
    Room { storeroom: &'a str, home: &'a str },
    /// Of the whole site.
    Site,
}

const NEVER: RateBelief = RateBelief { shape: 0.0, exposure: 1.0 };

impl StoreDemand {
    /// A storeroom's share is that of the cabinets that it serves, and of what was handed out there.
    pub fn of(known: &Known<'_>, model: &Model, share: Share<'_>) -> Self {
        let facts = known.facts;
        let part_no = model.part_no.as_str();
        let held = facts.of(part_no);
        let serves = |cabinet: &CabinetAddress| match share {
            Share::Site => true,
            Share::Room { storeroom, home } => facts.serving.of_cabinet(cabinet, home) == storeroom,
        };
        let (at_home, history) = match share {
            Share::Site => (true, known.histories.of_site(part_no, &facts.serving.storerooms)),
            Share::Room { storeroom, home } => {
                let foreseen = known.histories.get(part_no, storeroom);
                let both = foreseen.map(|it| (it.month.clone(), Some(it.outlook.clone())));
                (storeroom == home, both)
            }
        };
        let changes = if at_home { population_changes(facts, held) } else { Vec::new() };
        let stands = known.rates.of(part_no).filter(|_| fails(model));
        let rate = stands.filter(|_| history.is_none());
        let learned = rate.and_then(|rate| rate.learned.as_ref().ok());
        let population =
            stands.map_or_else(Population::default, |rate| rate.population(serves, &changes));
        let worn = rate.filter(|rate| rate.wear.is_ok());
        let lives = worn.and_then(|rate| rate.wear.as_ref().ok()).map(|wear| wear.likely_lives());
        let ages = worn.map(|rate| ages(held, rate, &serves, &changes));
        let planned = if at_home { planned(facts, held) } else { Vec::new() };
        let source = match (&history, learned.is_some() && population.units > 0.0) {
            (Some(_), _) => Source::History,
            (None, true) => Source::Failures,
            _ if !planned.is_empty() => Source::Planned,
            _ => Source::Nothing,
        };
        // Where the model is no longer sold, its stand-in is waited for.
        let bought =
            spares_stand_in::bought_for(&facts.models, model, facts.today).unwrap_or(model);
        let lead_time = LeadTime {
            mean_d: f64::from(bought.lead_time_d.unwrap_or(UNKNOWN_LEAD_TIME_D)),
            deviation_d: bought.lead_time_spread_d.unwrap_or(0.0),
        };
        let (month, outlook) = history.map_or((None, None), |(month, it)| (Some(month), it));
        let repair = Repair::of(model).filter(|_| source == Source::Failures);
        Self {
            source,
            population,
            belief: learned.map(|learned| learned.belief),
            no_fault_found: learned.map_or(NEVER, |learned| learned.no_fault_found.belief),
            lives: lives.unwrap_or_default(),
            ages: ages.unwrap_or_default(),
            month,
            outlook,
            planned,
            harvested: if at_home { harvested(facts, held) } else { Vec::new() },
            lead_time,
            lead_time_assumed: bought.lead_time_d.is_none(),
            resupply: resupply(lead_time, repair),
            repair,
            review_d: f64::from(facts.rules.review_d.unwrap_or(0)),
            yearly: OnceLock::new(),
        }
    }

    /// A question over some lead time, with or without what is planned.
    pub fn question<'a>(
        &'a self,
        lead_time: LeadTime,
        review_d: f64,
        planned: &'a [PlannedPieces],
    ) -> LeadQuestion<'a> {
        LeadQuestion {
            lead_time,
            review_d,
            failing: self.failing(),
            no_fault_found: self.no_fault_found,
            population: &self.population,
            planned,
            month: self.month.as_ref(),
        }
    }

    pub fn failing(&self) -> Failing<'_> {
        match self.belief {
            _ if !self.lives.is_empty() && !self.ages.is_empty() => {
                Failing::Wearing { lives: &self.lives, groups: &self.ages }
            }
            Some(belief) => Failing::AtRate(belief),
            None => Failing::Never,
        }
    }

    /// What is asked for at random until the piece for a failure of today is there.
    pub fn in_resupply(&self) -> Result<LeadDemand, LeadRefusal> {
        let mut lead = lead_demand(&self.question(self.resupply, self.review_d, &[]))?;
        if let Some(outlook) = &self.outlook {
            // A forecast that is off is off in all months alike, which months by themselves miss.
            lead.pmf = self.foreseen(outlook)?;
            for part in lead.parts.iter_mut().filter(|it| it.kind == DemandKind::Consumption) {
                (part.mean, part.variance) = (lead.pmf.mean(), lead.pmf.variance());
            }
        }
        Ok(lead)
    }

    /// The forecast over the time to cover; where that spreads, over three times that stand for it
    /// (points of Gauss and Hermite).
    fn foreseen(&self, outlook: &Outlook) -> Result<Pmf, LeadRefusal> {
        let months = |days: f64| (days.max(0.0) + self.review_d) / DAYS_PER_MONTH;
        let LeadTime { mean_d, deviation_d } = self.resupply;
        if deviation_d <= 0.0 {
            return Ok(outlook.over(months(mean_d))?);
        }
        let off = 3.0_f64.sqrt() * deviation_d;
        let parts = [
            (1.0 / 6.0, outlook.over(months(mean_d - off))?),
            (2.0 / 3.0, outlook.over(months(mean_d))?),
            (1.0 / 6.0, outlook.over(months(mean_d + off))?),
        ];
        Ok(Pmf::mixed(&parts))
    }

    /// The same over a time that is kept to the day.
    pub fn within(&self, days: f64) -> Result<LeadDemand, LeadRefusal> {
        let lead_time = LeadTime { mean_d: days, deviation_d: 0.0 };
        lead_demand(&self.question(lead_time, 0.0, &[]))
    }

    /// Pieces a year at random, on average.
    pub fn yearly(&self) -> f64 {
        *self.yearly.get_or_init(|| self.reckon_yearly())
    }

    fn reckon_yearly(&self) -> f64 {
        let hours_a = 24.0 * YEAR_D;
        let failing = match self.failing() {
            Failing::Never => 0.0,
            Failing::AtRate(belief) => self.population.weighted * belief.mean() * hours_a,
            Failing::Wearing { .. } => {
                let year = self.within(YEAR_D);
                return year.map_or(0.0, |year| year.pmf.mean());
            }
        };
        let no_fault = if self.no_fault_found.shape > 0.0 {
            self.population.units * self.no_fault_found.mean() * hours_a
        } else {
            0.0
        };
        let used = self.month.as_ref().map_or(0.0, Pmf::mean) * YEAR_D / DAYS_PER_MONTH;
        failing + no_fault + used
    }

    /// Days until an order placed now is there, the wait for the next review counted.
    pub fn order_d(&self) -> f64 {
        self.lead_time.mean_d + self.review_d
    }

    /// Days that the level has to cover.
    pub fn cover_d(&self) -> f64 {
        self.resupply.mean_d + self.review_d
    }

    /// Known pieces wanted until some day from now.
    pub fn planned_until(&self, day: f64) -> u32 {
        let until = self.planned.iter().filter(|it| it.day <= day);
        until.map(|it| u32::try_from(it.pieces).unwrap_or(u32::MAX)).sum()
    }

    pub fn harvested_until(&self, day: f64) -> u32 {
        self.harvested.iter().filter(|(on, _)| *on <= day).map(|(_, units)| units).sum()
    }
}

fn population_changes(facts: &Facts, held: &Held) -> Vec<(f64, i32)> {
    let changes = held.population.iter();
    changes.map(|it| (days_from(facts.today, it.on), it.installed_change)).collect()
}

/// Battery changes, and what changes of the plant take out of the stock.
fn planned(facts: &Facts, held: &Held) -> Vec<PlannedPieces> {
    let certain = |on: NaiveDate, pieces: u32| PlannedPieces {
        day: days_from(facts.today, on),
        pieces: pieces.into(),
        chance: 1.0,
    };
    let batteries = held.changes.iter().map(|demand: &Demand| certain(demand.on, demand.pieces));
    let plant = held.population.iter().filter(|it| it.from_stock > 0);
    let mut planned: Vec<PlannedPieces> =
        batteries.chain(plant.map(|it| certain(it.on, it.from_stock))).collect();
    planned.sort_by(|a, b| a.day.total_cmp(&b.day));
    planned
}

fn harvested(facts: &Facts, held: &Held) -> Vec<(f64, u32)> {
    let freed = held.population.iter().filter(|it| it.harvested > 0);
    freed.map(|it| (days_from(facts.today, it.on), it.harvested)).collect()
}
