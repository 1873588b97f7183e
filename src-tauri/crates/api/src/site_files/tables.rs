//! The CSV files: from cells that their schemas found right to typed rows.

use super::catalogue::word;
use super::csv_file::{Cells, Loaded, Misfit, read};
use super::problem::Problems;
use super::schema::RowSchema;
use super::{BatteryRow, LotRow, PowerOffRow, SiteFile, UnitRow};
use crate::wire::words;
use slotkeep_domain::journal::{PowerOff, PowerScope};
use slotkeep_domain::loops::{EntityInput, Loop};
use slotkeep_domain::model::PartNo;
use slotkeep_domain::people::{Person, Role};
use slotkeep_domain::place::{BinPath, RailAddress, SlotAddress};
use slotkeep_domain::unit::{Condition, UnitPlace};

/// Where the rows come from and where their problems go.
pub(super) struct Source<'a> {
    pub files: &'a [SiteFile],
    pub problems: &'a mut Problems,
}

impl Source<'_> {
    pub(super) fn load<T>(
        &mut self,
        schema: &RowSchema,
        build: impl FnMut(&Cells<'_>) -> Result<T, Misfit>,
    ) -> Loaded<T> {
        let file = self.files.iter().find(|file| file.name == schema.file);
        read(schema, file, self.problems, build)
    }
}

/// Loads the schema of a file by its name.
macro_rules! schema {
    ($name:literal) => {
        RowSchema::load(
            concat!($name, ".csv"),
            include_str!(concat!("../../../../../schemas/files/", $name, ".row.json")),
        )
    };
}

pub(super) use schema;

/// Turns the refusal of a domain type into a misfit of a column.
pub(super) fn fits<T, E: ToString>(at: usize, read: Result<T, E>) -> Result<T, Misfit> {
    read.map_err(|why| (at, why.to_string()))
}

/// A word that the schema allows must mean something here.
pub(super) fn means<T>(at: usize, found: Option<T>) -> Result<T, Misfit> {
    found.ok_or_else(|| (at, "a word that this version knows".to_owned()))
}

pub(super) fn part(cells: &Cells<'_>, at: usize) -> Result<PartNo, Misfit> {
    fits(at, PartNo::parse(cells.text(at)))
}

pub(super) fn maybe<T>(
    cells: &Cells<'_>,
    at: usize,
    read: impl Fn(&Cells<'_>, usize) -> Result<T, Misfit>,
) -> Result<Option<T>, Misfit> {
    if cells.filled(at) { read(cells, at).map(Some) } else { Ok(None) }
}

pub(super) fn slot_address(cells: &Cells<'_>, at: usize) -> Result<SlotAddress, Misfit> {
    fits(at, SlotAddress::parse(cells.text(at)))
}

pub(super) fn rail_address(cells: &Cells<'_>, at: usize) -> Result<RailAddress, Misfit> {
    fits(at, RailAddress::parse(cells.text(at)))
}

pub(super) fn units(source: &mut Source<'_>) -> Loaded<UnitRow> {
    let schema = schema!("units");
    let [serial, model, revision, firmware, place] =
        schema.at(["serial", "model", "revision", "firmware", "place"]);
    let [installed, received, condition] = schema.at(["installed_on", "received_on", "condition"]);
    let [battery, made, fitted] =
        schema.at(["battery_model", "battery_made_on", "battery_fitted_on"]);
    source.load(&schema, |c| {
        let battery = match (maybe(c, battery, part)?, c.date(fitted)) {
            (Some(model), Some(fitted_on)) => {
                Some(BatteryRow { model, made_on: c.date(made), fitted_on })
            }
            (None, None) if !c.filled(made) => None,
            (Some(_), None) => return Err((fitted, "the day the battery was fitted".to_owned())),
            _ => {
                return Err((
                    battery,
                    "the model of the battery that the dates tell of".to_owned(),
                ));
            }
        };
        Ok(UnitRow {
            serial: c.owned(serial),
            model: part(c, model)?,
            revision: c.optional(revision),
            firmware: c.optional(firmware),
            place: fits(place, UnitPlace::parse(c.text(place)))?,
            installed_on: c.date(installed),
            received_on: c.date(received),
            condition: means(condition, word(CONDITIONS, c.text(condition)))?,
            battery,
        })
    })
}

pub(super) fn lots(source: &mut Source<'_>) -> Loaded<LotRow> {
    let schema = schema!("lots");
    let [code, model, bin, quantity] = schema.at(["code", "model", "bin", "quantity"]);
    let [made, until, quarantined] = schema.at(["made_on", "shelf_until", "quarantined"]);
    source.load(&schema, |c| {
        Ok(LotRow {
            code: c.owned(code),
            model: part(c, model)?,
            bin: fits(bin, BinPath::parse(c.text(bin)))?,
            quantity: c.count(quantity).unwrap_or_default(),
            made_on: c.date(made),
            shelf_until: c.date(until),
            quarantined: c.text(quarantined) == "yes",
        })
    })
}

pub(super) fn loops(source: &mut Source<'_>) -> Loaded<Loop> {
    let schema = schema!("loops");
    let [tag, slot, channel, service, on_loss, safety] =
        schema.at(["tag", "slot", "channel", "service", "on_loss", "in_safety_function"]);
    let [effect, clearance] = schema.at(["effect", "clearance"]);
    let entity = schema.at([
        "ui_v",
        "ii_ma",
        "pi_mw",
        "ci_nf",
        "li_mh",
        "cable_m",
        "cable_nf",
        "cable_mh",
        "cable_uh_ohm",
    ]);
    source.load(&schema, |c| {
        let given = entity.iter().any(|at| c.filled(*at));
        let [ui_v, ii_ma, pi_mw, ci_nf, li_mh, cable_m, cable_nf, cable_mh, cable_uh_ohm] =
            entity.map(|at| c.number(at));
        let field = EntityInput {
            ui_v,
            ii_ma,
            pi_mw,
            ci_nf,
            li_mh,
            cable_m,
            cable_nf,
            cable_mh,
            cable_uh_ohm,
        };
        Ok(Loop {
            tag: c.owned(tag),
            slot: slot_address(c, slot)?,
            channel: c.count(channel).unwrap_or_default(),
            service: c.owned(service),
            on_loss: c.optional(on_loss),
            effect: words::read_loss_effect(c.text(effect)),
            clearance: words::read_clearance(c.text(clearance)),
            safety_function: c.text(safety) == "yes",
            entity: given.then_some(field),
        })
    })
}

pub(super) fn power_offs(source: &mut Source<'_>) -> Loaded<PowerOffRow> {
    let schema = schema!("power_offs");
    let [scope, from, to, planned, reason] =
        schema.at(["scope", "from", "to", "planned", "reason"]);
    source.load(&schema, |c| {
        if c.time(to) <= c.time(from) {
            return Err((to, "a time after the power went".to_owned()));
        }
        let off = PowerOff {
            scope: fits(scope, PowerScope::parse(c.text(scope)))?,
            from: c.time(from),
            to: c.time(to),
            reason: c.owned(reason),
        };
        Ok(PowerOffRow { off, planned: c.text(planned) == "yes" })
    })
}

pub(super) fn people(source: &mut Source<'_>) -> Loaded<Person> {
    let schema = schema!("people");
    let [name, roles] = schema.at(["name", "roles"]);
    source.load(&schema, |c| {
        let words = c.text(roles).split(' ').map(Role::parse);
        let read = fits(roles, words.collect::<Result<Vec<_>, _>>())?;
        Ok(Person { name: c.owned(name), roles: read })
    })
}

const CONDITIONS: &[(&str, Condition)] = &[
    ("good", Condition::Good),
    ("suspect", Condition::Suspect),
    ("failed", Condition::Failed),
    ("quarantined", Condition::Quarantined),
];
