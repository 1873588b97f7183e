//! What people record about spares: tests, choices, plans, reservations and stocktakes.

use crate::journal::{PowerScope, UnitMoved};
use crate::label::LabelCode;
use crate::model::PartNo;
use crate::place::{BinPath, Criticality, SlotAddress};
use crate::unit::{Condition, UnitPlace};
use chrono::NaiveDate;
use uuid::Uuid;

/// A unit that came out of a slot was tested.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitTested {
    pub unit: LabelCode,
    /// False: it works; then its removal was demand for a spare, but no failure.
    pub fault_found: bool,
    pub note: String,
}

/// A person's choice for a model, which takes the place of the automatic one and of any before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SpareChosen {
    pub model: PartNo,
    /// None: for every storeroom.
    pub storeroom: Option<String>,
    /// Word of the forecasting method.
    pub method: Option<String>,
    pub level: Option<ChosenLevel>,
    pub class: Option<Criticality>,
    pub reason: String,
}

/// When to order, and up to how many; both zero: hold none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChosenLevel {
    pub reorder_at: u32,
    pub order_up_to: u32,
}

/// The plant is to have more or fewer of a model. Its entry's id names the plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PopulationPlanned {
    pub model: PartNo,
    pub on: NaiveDate,
    /// How many more places there will be; negative for removals.
    pub installed_change: i32,
    /// Pieces that the work takes out of the stock.
    pub from_stock: u32,
    /// Units that come back from the removal and can serve as spares.
    pub harvested: u32,
    pub reason: String,
}

/// What became of a planned change of the plant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PopulationSettled {
    pub planned: Uuid,
    /// False: it was called off.
    pub happened: bool,
    pub reason: String,
}

/// Stock is kept for something. Its entry's id names the reservation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reserved {
    pub what: ReservedWhat,
    pub purpose: Purpose,
    /// Last day on which it is kept; none: until it is released.
    pub until: Option<NaiveDate>,
}

/// What is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReservedWhat {
    Unit(LabelCode),
    /// So many pieces or units of a model, whichever they are.
    Pieces {
        model: PartNo,
        storeroom: String,
        pieces: u32,
    },
}

/// What stock is kept for or handed out to.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Purpose {
    /// A person, a job, in words.
    Words(String),
    /// The next swap in a slot.
    Slot(SlotAddress),
    /// A swap that is under way.
    Swap(Uuid),
    /// An agreed visit.
    Visit { on: NaiveDate, scope: PowerScope },
}

/// How the reason begins where a unit was handed out.
pub const HANDED_OUT_TO: &str = "handed out to ";

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReservationEnded {
    pub reservation: Uuid,
    /// What was kept was used for it.
    pub used: bool,
    pub reason: String,
}

/// A stocktake of one bin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BinCounted {
    pub bin: BinPath,
    /// Lots with the pieces that lie there; a lot that is not named stays as it is.
    pub lots: Vec<(LabelCode, u32)>,
    /// Units that lie there, also those that the register had elsewhere.
    pub units_found: Vec<LabelCode>,
    /// Units that should lie there and do not.
    pub units_missing: Vec<LabelCode>,
    pub note: String,
}

impl UnitMoved {
    /// What the unit was handed out for; none where it was moved for another reason.
    ///
    /// Entries from before purposes in words were kept apart have them in the reason alone.
    pub fn handed_out_for(&self) -> Option<Purpose> {
        if self.to != UnitPlace::Bench || self.condition != Condition::Good {
            return None;
        }
        let in_words = || {
            let words = self.reason.strip_prefix(HANDED_OUT_TO)?.trim();
            (!words.is_empty()).then(|| Purpose::Words(words.to_owned()))
        };
        self.purpose.clone().or_else(in_words)
    }
}

impl std::fmt::Display for Purpose {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Words(words) => f.write_str(words),
            Self::Slot(slot) => write!(f, "a swap in {slot}"),
            Self::Swap(_) => f.write_str("a swap under way"),
            Self::Visit { on, scope: PowerScope::Site } => write!(f, "the visit on {on}"),
            Self::Visit { on, scope } => write!(f, "the visit to {scope} on {on}"),
        }
    }
}
