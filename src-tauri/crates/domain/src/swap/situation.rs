use crate::journal::Purpose;
use crate::key::KeyScheme;
use crate::label::LabelCode;
use crate::lineup::{Cabinet, Derating};
use crate::loops::{Loop, Stays, Work, stays};
use crate::model::Model;
use crate::place::{Slot, SlotAddress};
use crate::register::{Reservation, View};
use crate::rules::RuleSetting;
use crate::rules::own::OwnRule;
use crate::unit::Unit;
use chrono::NaiveDate;
use std::sync::Arc;

/// A slot with everything around it that the rules look at.
#[derive(Debug, Clone)]
pub struct Seat {
    pub slot: Slot,
    /// The model that the slot is engineered for.
    pub wanted: Option<Model>,
    /// The label of what stands in the slot now.
    pub standing: Option<LabelCode>,
    /// What stands in the slot now; none too where its model is not in the catalogue.
    pub outgoing: Option<(Unit, Model)>,
    /// The unit in the redundant partner slot.
    pub partner: Option<(SlotAddress, Option<Unit>)>,
    pub loops: Vec<Loop>,
    pub key_scheme: Option<KeyScheme>,
    pub swap_open: bool,
    /// The whole cabinet as it stands; none where the register does not know it.
    pub cabinet: Option<Arc<Cabinet>>,
    /// What the site has set about the rules.
    pub settings: Vec<RuleSetting>,
    /// The site's own rules, those of line-ups among them.
    pub own: Vec<OwnRule>,
    pub today: NaiveDate,
}

/// A spare with everything about it that the rules look at.
#[derive(Debug, Clone)]
pub struct Spare {
    pub unit: Unit,
    pub model: Model,
    /// What else it is kept for.
    pub kept_for: Option<Reservation>,
    /// The slot of another swap under way that takes it.
    pub promised_to: Option<SlotAddress>,
    /// The back-up battery that sits in it; none where none is recorded.
    pub battery: Option<BatteryOutlook>,
}

/// How long the battery in a spare is good for.
#[derive(Debug, Clone, PartialEq)]
pub enum BatteryOutlook {
    Known {
        /// The day by which it must be changed.
        due_on: NaiveDate,
        /// Charge as often exceeded as not, mAh.
        remaining_mah: f64,
        capacity_mah: f64,
    },
    /// What is missing, in one sentence.
    Unknown(String),
}

/// A spare considered for a slot.
#[derive(Debug, Clone, Copy)]
pub struct Situation<'a> {
    pub seat: &'a Seat,
    pub spare: &'a Spare,
}

impl Seat {
    /// Gathers what the register says of a slot and what stands in it; the cabinet and the site's
    /// settings come from whoever can list them.
    pub fn of(view: &impl View, slot: Slot, today: NaiveDate) -> Self {
        let standing = view.unit_in(&slot.address);
        let outgoing = standing
            .and_then(|label| view.unit(&label))
            .and_then(|unit| view.model(&unit.model).map(|model| (unit, model)));
        let partner = slot.redundant_partner.clone().map(|address| {
            let unit = view.unit_in(&address).and_then(|label| view.unit(&label));
            (address, unit)
        });
        Self {
            wanted: slot.model_wanted.as_ref().and_then(|part_no| view.model(part_no)),
            loops: view.loops_of(&slot.address),
            key_scheme: slot.key.as_ref().and_then(|key| view.key_scheme(&key.scheme)),
            swap_open: view.open_swap(&slot.address).is_some(),
            cabinet: None,
            settings: Vec::new(),
            own: Vec::new(),
            slot,
            standing,
            outgoing,
            partner,
            today,
        }
    }

    /// The same as work that takes the unit out.
    pub fn work(&self) -> Work<'_> {
        Work {
            slot: &self.slot,
            outgoing: self.outgoing.as_ref().map(|(_, model)| model),
            loops: &self.loops,
            partner: self.partner.as_ref().map(|(address, unit)| (address, unit.as_ref())),
            cabinet: self.cabinet.as_deref(),
            derating: Derating::kept(&self.settings),
        }
    }

    /// Why the power supplies that stay do not carry their load while the unit is out, in words;
    /// none where they do, and where no power supply comes out.
    pub fn supply_too_small(&self) -> Option<String> {
        match stays(&self.work(), true) {
            Stays::TooLittle(why) => Some(why),
            Stays::Fed | Stays::Out => None,
        }
    }

    /// The model that the spare must equal or be allowed to replace.
    pub fn reference_model(&self) -> Option<&Model> {
        self.wanted.as_ref().or(self.outgoing.as_ref().map(|(_, model)| model))
    }
}

impl Spare {
    /// A spare for a seat; `reserved` are the reservations of its model that are not ended.
    pub fn of(unit: Unit, model: Model, seat: &Seat, reserved: &[Reservation]) -> Self {
        let here = Purpose::Slot(seat.slot.address.clone());
        let kept_for = reserved.iter().find(|kept| {
            kept.unit == Some(unit.label) && kept.holds_on(seat.today) && kept.purpose != here
        });
        Self { kept_for: kept_for.cloned(), unit, model, promised_to: None, battery: None }
    }
}
