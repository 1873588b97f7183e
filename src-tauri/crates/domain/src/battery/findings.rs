use super::{Battery, LARGEST_LOSS_PCT_A, Off};
use chrono::{DateTime, NaiveDate, Utc};

/// What is the matter with the figures of a battery, in sentences that say what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Finding {
    #[error("{name} is {value}: give a number of zero or more")]
    Figure { name: &'static str, value: f64 },
    #[error("{name} is {value}: give a number from 0 to {most}")]
    TooMuch { name: &'static str, value: f64, most: f64 },
    #[error("no cell is fitted: state how many")]
    NoCell,
    #[error("the catalogue gives no back-up drain: add it, or measure it with the power off")]
    NoDrain,
    #[error("it was fitted on {fitted_on}, which is after today, {today}: correct the day")]
    FittedInFuture { fitted_on: NaiveDate, today: NaiveDate },
    #[error("its cell was made on {made_on}, after it was fitted on {fitted_on}: correct a day")]
    MadeAfterFitting { made_on: NaiveDate, fitted_on: NaiveDate },
    #[error("a power-off from {from} ends before that, at {to}: correct the times")]
    EndsBeforeStart { from: DateTime<Utc>, to: DateTime<Utc> },
    #[error(
        "the power-offs from {first_from} and from {second_from} overlap until {until}: join them, \
         or correct the times"
    )]
    Overlap { first_from: DateTime<Utc>, second_from: DateTime<Utc>, until: DateTime<Utc> },
}

impl Finding {
    /// Tells whether nothing can be reckoned until it is put right. Otherwise the figures hold: what
    /// overlaps counts once, and a power-off that ends before it starts counts for nothing.
    pub fn stops(&self) -> bool {
        !matches!(self, Self::EndsBeforeStart { .. } | Self::Overlap { .. })
    }
}

impl Battery<'_> {
    /// Tells what is the matter with the figures; empty when all are sound.
    pub fn findings(&self, today: NaiveDate) -> Vec<Finding> {
        let at_least_zero = [
            ("capacity_mah", self.cell.capacity_mah),
            ("self_discharge_pct_a_20c", self.cell.self_discharge_pct_a_20c),
            ("standby_ua", self.drain.standby_ua),
            ("backup_ua", self.drain.backup_ua),
        ];
        let mut findings: Vec<Finding> = at_least_zero
            .into_iter()
            .filter(|(_, value)| !(value.is_finite() && *value >= 0.0))
            .map(|(name, value)| Finding::Figure { name, value })
            .collect();
        let loss = ("self_discharge_pct_a_20c", self.cell.self_discharge_pct_a_20c);
        if loss.1 > LARGEST_LOSS_PCT_A {
            let (name, value) = loss;
            findings.push(Finding::TooMuch { name, value, most: LARGEST_LOSS_PCT_A });
        }
        let spreads = self.spread.figures();
        let wide = spreads.into_iter().filter(|(_, value, most)| !(0.0..=*most).contains(value));
        findings.extend(wide.map(|(name, value, most)| Finding::TooMuch { name, value, most }));
        if self.cell.cells == 0 {
            findings.push(Finding::NoCell);
        }
        let fitted_on = self.fitted.fitted_on;
        if fitted_on > today {
            findings.push(Finding::FittedInFuture { fitted_on, today });
        }
        if let Some(made_on) = self.fitted.made_on.filter(|made_on| *made_on > fitted_on) {
            findings.push(Finding::MadeAfterFitting { made_on, fitted_on });
        }
        findings.extend(power_off_findings(self.power_offs));
        findings
    }
}

/// Tells which stretches without power end before they start, and which overlap.
pub fn power_off_findings(offs: &[Off]) -> Vec<Finding> {
    let backward = |off: &&Off| off.to < off.from;
    let mut findings: Vec<Finding> = offs
        .iter()
        .filter(backward)
        .map(|off| Finding::EndsBeforeStart { from: off.from, to: off.to })
        .collect();
    let mut forward: Vec<&Off> = offs.iter().filter(|off| !backward(off)).collect();
    forward.sort_by_key(|off| off.from);
    let mut last: Option<&Off> = None;
    for off in forward {
        if let Some(before) = last.filter(|before| off.from < before.to) {
            findings.push(Finding::Overlap {
                first_from: before.from,
                second_from: off.from,
                until: before.to.min(off.to),
            });
        }
        if last.is_none_or(|before| off.to > before.to) {
            last = Some(off);
        }
    }
    findings
}
