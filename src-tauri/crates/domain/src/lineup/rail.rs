use super::Stand;
use crate::key::KeySetting;
use crate::model::{BaseKind, Feeds, Model, ModelKind, PartNo};
use crate::place::{BusPosition, CabinetAddress, Criticality, RailAddress, SlotAddress};
use std::collections::HashMap;
use std::sync::Arc;

/// A cabinet as the line-up rules see it, as it stands or as it is planned.
#[derive(Debug, Clone)]
pub struct Cabinet {
    pub address: CabinetAddress,
    /// Code of the area that it stands in.
    pub area: String,
    pub rails: Vec<Rail>,
    pub body: Body,
    /// Mean temperature inside in the hottest month, °C.
    pub inside_c: f64,
    /// Whether that was recorded for this cabinet, not only for the site.
    pub inside_known: bool,
    /// Models of the catalogue that share a base kind and a key.
    pub keyed: Arc<Keyed>,
}

/// Part numbers by base kind and key.
pub type Keyed = HashMap<(BaseKind, KeySetting), Vec<PartNo>>;

/// What a cabinet gives off heat with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Body {
    pub width_mm: f64,
    pub height_mm: f64,
    pub depth_mm: Option<f64>,
    pub stand: Option<Stand>,
    /// Warmest that the room gets, °C.
    pub room_c: Option<f64>,
}

/// A rail and all that stands on it, from left to right.
#[derive(Debug, Clone, PartialEq)]
pub struct Rail {
    pub address: RailAddress,
    pub length_mm: f64,
    /// Rail of the same cabinet whose power supplies feed this one.
    pub fed_by: Option<RailAddress>,
    /// Whether one of its power supplies may fail.
    pub redundant: Option<bool>,
    /// Line from the power supply to the first unit, m and mm² of copper.
    pub line_m: Option<f64>,
    pub line_mm2: Option<f64>,
    /// Rails on which its buses go on.
    pub bus_left: Option<RailAddress>,
    pub bus_right: Option<RailAddress>,
    pub items: Vec<Item>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    pub x_mm: f64,
    pub width_mm: f64,
    pub what: What,
    /// Its model, where one is recorded and in the catalogue; for a slot that of the unit in it.
    pub model: Option<Arc<Model>>,
}

#[derive(Debug, Clone, PartialEq)]
pub enum What {
    Slot(Place),
    Terminator,
    EndSupport,
    Blank,
    /// A base without a number of its own.
    Base,
}

/// A numbered position of a rail.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    pub address: SlotAddress,
    pub base: BaseKind,
    pub key: Option<KeySetting>,
    /// The model that it is engineered for.
    pub wanted: Option<Arc<Model>>,
    /// Whether a unit stands in it.
    pub filled: bool,
    pub bus: BusPosition,
    pub bus_address: Option<u32>,
    /// What the register says of it besides; none of a position that is only planned.
    pub known: Option<Standing>,
}

/// What matters of a slot beside what stands in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    pub criticality: Criticality,
    /// Whether its unit may be exchanged with the rail energised.
    pub hot_swap: bool,
    /// Whether it has a redundant partner.
    pub redundant: bool,
}

impl Cabinet {
    pub fn rail(&self, address: &RailAddress) -> Option<&Rail> {
        self.rails.iter().find(|rail| rail.address == *address)
    }
}

impl Rail {
    /// Puts the items in the order in which they stand.
    pub fn sort(&mut self) {
        self.items.sort_by(|a, b| a.x_mm.total_cmp(&b.x_mm));
    }

    /// Slots with what stands around them, left to right.
    pub fn places(&self) -> impl Iterator<Item = (&Item, &Place)> {
        self.items.iter().filter_map(|item| item.place().map(|place| (item, place)))
    }

    /// The same rail with a unit of another model in one slot.
    pub fn with_unit(&self, slot: &SlotAddress, model: &Arc<Model>) -> Self {
        let mut rail = self.clone();
        for item in &mut rail.items {
            if let What::Slot(place) = &mut item.what
                && place.address == *slot
            {
                place.filled = true;
                item.model = Some(model.clone());
            }
        }
        rail
    }

    /// What an item is called in a finding.
    pub fn name_of(&self, item: &Item) -> String {
        match &item.what {
            What::Slot(place) => place.address.to_string(),
            What::Terminator => format!("the terminator at {} mm", item.x_mm),
            What::EndSupport => format!("the end support at {} mm", item.x_mm),
            What::Blank => format!("the blank at {} mm", item.x_mm),
            What::Base => format!("the base at {} mm", item.x_mm),
        }
    }
}

impl Item {
    pub fn place(&self) -> Option<&Place> {
        match &self.what {
            What::Slot(place) => Some(place),
            _ => None,
        }
    }

    pub fn right_mm(&self) -> f64 {
        self.x_mm + self.width_mm
    }

    /// The model that stands there, or for which an empty slot is kept.
    pub fn meant(&self) -> Option<&Arc<Model>> {
        match &self.what {
            What::Slot(place) if !place.filled => place.wanted.as_ref(),
            _ => self.model.as_ref(),
        }
    }

    pub fn is_supply(&self) -> bool {
        self.place().is_some()
            && self.meant().is_some_and(|model| model.kind == ModelKind::PowerSupply)
    }

    /// What a power supply feeds; none for other things and where the catalogue is silent.
    pub fn feeds(&self) -> Option<Feeds> {
        self.meant().filter(|_| self.is_supply()).and_then(|model| model.on_rail.feeds)
    }

    pub fn is_safe(&self) -> bool {
        self.place().is_some_and(|place| place.base == BaseKind::IntrinsicallySafe)
    }

    /// Whether it has terminals for circuits of the field that are not intrinsically safe. None
    /// where its model is not known.
    pub fn has_unsafe_terminals(&self) -> Option<bool> {
        let place = self.place().filter(|place| place.base != BaseKind::IntrinsicallySafe);
        if place.is_none() {
            return Some(false);
        }
        self.meant().map(|model| model.channels > 0)
    }
}
