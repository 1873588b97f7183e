use super::lines::Catalogue;
use super::{find, lines};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::Nothing;
use crate::wire::model::{ModelCard, ModelInput, ModelLine};

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask("model.list", "Lists the catalogue.", list),
        table::ask("model.card", "Shows one model and where its units and lots are.", card),
    ]
}

fn list(ask: &Ask<'_>, _: Nothing) -> Result<Vec<ModelLine>, Failure> {
    ask.read(|r| Ok(r.models()?.iter().map(lines::model).collect()))
}

fn card(ask: &Ask<'_>, input: ModelInput) -> Result<ModelCard, Failure> {
    let today = ask.today();
    ask.read(|r| {
        let model = find::model(r, &input.model)?;
        let catalogue = Catalogue::new(r);
        let units = r.units_of(&model.part_no)?;
        let (standing, spares): (Vec<_>, Vec<_>) =
            units.iter().partition(|unit| unit.place.slot().is_some());
        let lots = r.lots_of(&model.part_no)?;
        Ok(ModelCard {
            model: lines::model(&model),
            standing: standing.len() as u32,
            spares: spares.into_iter().map(|unit| catalogue.unit(unit)).collect(),
            lots: lots.iter().map(|lot| catalogue.lot(lot, today)).collect(),
        })
    })
}
