//! What is asked for of a model over the whole site, reckoned once for orders, money and dead stock.

use super::spares_days::YEAR_D;
use super::spares_demand::{Known, Share, StoreDemand};
use crate::Failure;
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{LeadDemand, LeadRefusal, LeadTime, lead_demand};
use std::sync::OnceLock;

pub(super) struct SiteDemand {
    pub demand: StoreDemand,
    lead: OnceLock<Result<LeadDemand, String>>,
    until_dead: OnceLock<Result<LeadDemand, String>>,
    until_dead_d: f64,
}

impl SiteDemand {
    pub fn of(known: &Known<'_>, model: &Model) -> Self {
        Self {
            demand: StoreDemand::of(known, model, Share::Site),
            lead: OnceLock::new(),
            until_dead: OnceLock::new(),
            until_dead_d: known.facts.rules.dead_after_y * YEAR_D,
        }
    }

    /// What is asked for at random until the piece for a failure of today is there.
    pub fn in_resupply(&self, model: &Model) -> Result<&LeadDemand, Failure> {
        told(model, self.lead.get_or_init(|| said(self.demand.in_resupply())))
    }

    /// What is asked for, planned pieces among it, until stock counts as dead.
    pub fn until_dead(&self, model: &Model) -> Result<&LeadDemand, Failure> {
        let lead_time = LeadTime { mean_d: self.until_dead_d, deviation_d: 0.0 };
        let reckon =
            || said(lead_demand(&self.demand.question(lead_time, 0.0, &self.demand.planned)));
        told(model, self.until_dead.get_or_init(reckon))
    }
}

fn said(lead: Result<LeadDemand, LeadRefusal>) -> Result<LeadDemand, String> {
    lead.map_err(|no| no.to_string())
}

fn told<'l>(
    model: &Model,
    lead: &'l Result<LeadDemand, String>,
) -> Result<&'l LeadDemand, Failure> {
    lead.as_ref().map_err(|no| Failure::refused(format!("{}: {no}", model.part_no)))
}
