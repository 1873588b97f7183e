use super::{power, removals, to_come, units};
use crate::Detail;
use crate::site_files::{Row, Site};
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use sha2::{Digest, Sha256};
use slotkeep_domain::journal::{Body, Entry, PastEvent, Source};
use slotkeep_domain::label::{LabelCode, LabelKind, SitePrefix};
use slotkeep_domain::place::{Bin, Cabinet, Slot, Storeroom};
use slotkeep_domain::register::{Ledger, View};
use slotkeep_store::Batch;
use uuid::Uuid;

/// What came of the rows beside entries.
#[derive(Default)]
pub(super) struct Plan {
    pub unchanged: u64,
    pub notes: Vec<String>,
    pub problems: Vec<Detail>,
}

/// Who imports, when, and on which device.
pub(super) struct Origin {
    pub at: DateTime<Utc>,
    pub person: String,
    pub device: String,
}

fn place(file: &str, line: u32) -> String {
    if line == 0 { file.to_owned() } else { format!("{file}, line {line}") }
}

/// A plan in the making: the register as it will be after the rows so far.
pub(super) struct Planner<'a> {
    pub plan: Plan,
    batch: &'a mut Batch,
    origin: &'a Origin,
    prefix: SitePrefix,
}

impl Plan {
    /// Goes through the rows in the order in which they build on each other, and adds an entry
    /// for each that says something new.
    ///
    /// `files` are the names that were given.
    pub(super) fn make(site: &Site, files: &[&str], batch: &mut Batch, origin: &Origin) -> Self {
        let prefix = site.settings.value.prefix;
        let mut planner = Planner { plan: Self::default(), batch, origin, prefix };
        planner.catalogue(site);
        planner.places(site);
        units::lots(&mut planner, site);
        units::units(&mut planner, site);
        planner.rest(site);
        to_come::plan(&mut planner, site);
        removals::plan(&mut planner, site, files);
        planner.plan
    }
}

impl Planner<'_> {
    /// The register with every row so far.
    pub(super) fn ledger(&self) -> &Ledger {
        self.batch.ledger()
    }

    /// Whether a row says something else than when it was last taken in; counts it if not.
    pub(super) fn is_new<T>(&mut self, row: &Row<T>) -> bool {
        let same = self.ledger().imported(row.file, &row.key) == Some(row.digest);
        self.plan.unchanged += u64::from(same);
        !same
    }

    /// Plans an entry, or notes why it does not fit.
    pub(super) fn add<T>(&mut self, row: &Row<T>, body: Body) {
        self.correct(row, None, body);
    }

    /// Plans an entry that puts an earlier one right.
    pub(super) fn correct<T>(&mut self, row: &Row<T>, before: Option<Uuid>, body: Body) {
        let source = Source { file: row.file.to_owned(), key: row.key.clone(), digest: row.digest };
        self.add_from(source, row.line, before, body);
    }

    pub(super) fn add_from(
        &mut self,
        source: Source,
        line: u32,
        corrects: Option<Uuid>,
        body: Body,
    ) {
        let at = match &body {
            Body::PastEvent(past) => self.noon_of(past.on),
            _ => self.origin.at,
        };
        self.add_at(source, line, at, corrects, body);
    }

    /// Noon keeps the day in every time zone in use; what is yet to come happens now.
    pub(super) fn noon_of(&self, day: NaiveDate) -> DateTime<Utc> {
        let noon = NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default();
        day.and_time(noon).and_utc().min(self.origin.at)
    }

    pub(super) fn today(&self) -> NaiveDate {
        self.origin.at.date_naive()
    }

    pub(super) fn add_at(
        &mut self,
        source: Source,
        line: u32,
        at: DateTime<Utc>,
        corrects: Option<Uuid>,
        body: Body,
    ) {
        let file = source.file.clone();
        let entry = Entry {
            id: Uuid::now_v7(),
            at,
            person: self.origin.person.clone(),
            device: self.origin.device.clone(),
            corrects,
            source: Some(source),
            body,
        };
        if let Err(refusal) = self.batch.add(entry) {
            let problem = Detail { place: place(&file, line), message: refusal.to_string() };
            self.plan.problems.push(problem);
        }
    }

    fn set<T: Clone>(&mut self, rows: &[Row<T>], body: impl Fn(T) -> Body) {
        for row in rows {
            if self.is_new(row) {
                self.add(row, body(row.value.clone()));
            }
        }
    }

    fn catalogue(&mut self, site: &Site) {
        self.set(std::slice::from_ref(&site.settings), Body::SiteSet);
        self.set(&site.key_schemes, Body::KeySchemeSet);
        self.set(&site.models, |model| Body::ModelSet(Box::new(model)));
        self.set(&site.people, Body::PersonSet);
        self.set(site.procedure.as_slice(), Body::ProcedureSet);
    }

    fn places(&mut self, site: &Site) {
        self.set(&site.areas, Body::AreaSet);
        for row in &site.cabinets {
            if self.is_new(row) {
                let known = self.ledger().cabinet(&row.value.address).map(|cabinet| cabinet.label);
                let label = self.label(known, LabelKind::Cabinet, &row.key);
                let value = row.value.clone();
                let cabinet = Cabinet {
                    address: value.address,
                    label,
                    area: value.area,
                    title: value.title,
                    width_mm: value.width_mm,
                    height_mm: value.height_mm,
                    temperature_c: value.temperature_c,
                    temperatures_c: value.temperatures_c,
                    temperature_spread_k: value.temperature_spread_k,
                    depth_mm: value.depth_mm,
                    stand: value.stand,
                    room_c: value.room_c,
                };
                self.add(row, Body::CabinetSet(cabinet));
            }
        }
        self.set(&site.rails, Body::RailSet);
        self.slots(site);
        let supplied = |row: &&Row<Storeroom>| row.value.supplied_by.is_some();
        for row in site.storerooms.iter().filter(|row| !supplied(row)) {
            self.set(std::slice::from_ref(row), Body::StoreroomSet);
        }
        for row in site.storerooms.iter().filter(supplied) {
            self.set(std::slice::from_ref(row), Body::StoreroomSet);
        }
        for row in &site.bins {
            if self.is_new(row) {
                let known = self.ledger().bin(&row.value.path).map(|bin| bin.label);
                let label = self.label(known, LabelKind::Bin, &row.key);
                let value = row.value.clone();
                let bin = Bin { path: value.path, label, title: value.title };
                self.add(row, Body::BinSet(bin));
            }
        }
    }

    fn slots(&mut self, site: &Site) {
        for row in &site.slots {
            if self.is_new(row) {
                let known = self.ledger().slot(&row.value.address).map(|slot| slot.label);
                let label = self.label(known, LabelKind::Slot, &row.key);
                let value = row.value.clone();
                let slot = Slot {
                    address: value.address,
                    label,
                    title: value.title,
                    x_mm: value.x_mm,
                    width_mm: value.width_mm,
                    base: value.base,
                    key: value.key,
                    model_wanted: value.model_wanted,
                    min_revision: value.min_revision,
                    min_firmware: value.min_firmware,
                    redundant_partner: value.redundant_partner,
                    bus_position: value.bus_position,
                    bus_address: value.bus_address,
                    hot_swap: value.hot_swap,
                    criticality: value.criticality,
                };
                self.add(row, Body::SlotSet(slot));
            }
        }
    }

    fn rest(&mut self, site: &Site) {
        self.set(&site.loops, Body::LoopSet);
        power::power_offs(self, site);
        for row in &site.history {
            if !self.is_new(row) {
                continue;
            }
            let value = row.value.clone();
            let unit = value
                .unit
                .and_then(|at| site.units.get(at))
                .and_then(|unit| self.ledger().unit_with(&unit.value.model, &unit.value.serial));
            let lot = value
                .lot
                .as_ref()
                .zip(value.model.as_ref())
                .and_then(|(code, model)| self.ledger().lot_with(model, code));
            let past = PastEvent {
                what: value.what,
                on: value.on,
                unit,
                model: value.model,
                slot: value.slot,
                lot,
                quantity: value.quantity,
                failure: value.failure,
                found: value.found,
                found_mv: value.found_mv,
                fitted_on: value.fitted_on,
                note: value.note,
            };
            self.add(row, Body::PastEvent(past));
        }
    }

    /// The label that a thing carries already, or a new one that follows from its name, so that
    /// two imports of one folder into two stores give the same labels.
    pub(super) fn label(&self, known: Option<LabelCode>, kind: LabelKind, name: &str) -> LabelCode {
        if let Some(label) = known {
            return label;
        }
        let digest = Sha256::digest(format!("{} {name}", kind.word()));
        let number = u32::from_be_bytes([digest[0], digest[1], digest[2], digest[3]]);
        let mut label = LabelCode::allocate(self.prefix, kind, number);
        while self.ledger().is_labelled(&label) {
            label = label.next();
        }
        label
    }
}
