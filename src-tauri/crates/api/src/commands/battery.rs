use crate::Failure;
use crate::table::Command;
use crate::wire::battery::BatteryLine;
use chrono::{DateTime, Utc};
use slotkeep_domain::model::Model;
use slotkeep_domain::unit::Unit;
use slotkeep_store::Reader;
pub(super) fn commands() -> Vec<Command> {
    vec![]
}
pub(super) fn of_unit(
    _: &Reader<'_>,
    _: &Unit,
    _: &Model,
    _: DateTime<Utc>,
) -> Result<Option<BatteryLine>, Failure> {
    Ok(None)
}
pub(super) fn list_for(
    _: &Reader<'_>,
    _: DateTime<Utc>,
    _: Option<&str>,
) -> Result<Vec<BatteryLine>, Failure> {
    Ok(vec![])
}
