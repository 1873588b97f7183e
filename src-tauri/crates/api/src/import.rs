use crate::{
    Failure,
    ask::{Ask, Stamp},
    wire::site::{ImportInput, ImportReport},
};
pub(crate) fn take_in(_: &Ask<'_>, _: &Stamp, _: ImportInput) -> Result<ImportReport, Failure> {
    Err(Failure::refused("x"))
}
