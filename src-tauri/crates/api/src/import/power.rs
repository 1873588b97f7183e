use super::plan::Planner;
use crate::site_files::{PowerOffRow, Row, Site};
use slotkeep_domain::journal::{Body, PowerOffPlanned, PowerOffSettled};
use slotkeep_domain::register::{KnownOff, View};

/// Plans power-offs. A row whose end or reason was edited corrects what it said before; one that
/// was planned and is no longer says when it happened.
pub(super) fn power_offs(planner: &mut Planner<'_>, site: &Site) {
    for row in &site.power_offs {
        if planner.is_new(row) {
            power_off(planner, row);
        }
    }
}

fn power_off(planner: &mut Planner<'_>, row: &Row<PowerOffRow>) {
    let PowerOffRow { off, planned } = row.value.clone();
    let known = planner.ledger().offs_of(&off.scope);
    let begins_alike = |other: &&KnownOff| other.off.from == off.from;
    let same = |planned: bool| known.iter().filter(begins_alike).find(|o| o.planned == planned);
    let before = same(planned).map(|other| other.id);
    let body = match (planned, same(true)) {
        (true, _) => Body::PowerOffPlanned(PowerOffPlanned {
            scope: off.scope,
            from: off.from,
            to: off.to,
            reason: off.reason,
        }),
        (false, Some(plan)) => Body::PowerOffSettled(PowerOffSettled {
            planned: plan.id,
            happened: Some((off.from, off.to)),
            reason: off.reason,
        }),
        (false, None) => Body::PowerOff(off),
    };
    let before = before.filter(|_| !matches!(body, Body::PowerOffSettled(_)));
    planner.correct(row, before, body);
}
