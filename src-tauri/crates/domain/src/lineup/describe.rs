use super::{Body, Cabinet, Item, Keyed, Place, Rail, Standing, What};
use crate::model::{Model, PartNo};
use crate::place::{self, RailItemKind, Site, Slot, SlotAddress};
use std::sync::Arc;

/// Where the description of a cabinet looks things up.
pub trait Known {
    fn model(&self, part_no: &PartNo) -> Option<Arc<Model>>;
    /// The model of the unit that stands in a slot.
    fn standing(&self, slot: &SlotAddress) -> Option<PartNo>;
}

/// Describes a cabinet as it stands by the register. `slots` may hold those of other cabinets.
pub fn describe(
    site: &Site,
    cabinet: &place::Cabinet,
    rails: &[place::Rail],
    slots: &[Slot],
    keyed: Arc<Keyed>,
    known: &impl Known,
) -> Cabinet {
    let months = cabinet.temperatures_c.iter().flatten().copied().reduce(f64::max);
    let recorded = months.or(cabinet.temperature_c);
    let mut on_rails: Vec<Rail> = rails.iter().map(|rail| furniture(rail, known)).collect();
    for slot in slots {
        let address = slot.address.rail();
        if let Some(rail) = on_rails.iter_mut().find(|rail| rail.address == address) {
            rail.items.push(position(slot, known));
        }
    }
    on_rails.iter_mut().for_each(Rail::sort);
    Cabinet {
        address: cabinet.address.clone(),
        area: cabinet.area.clone(),
        rails: on_rails,
        body: Body {
            width_mm: cabinet.width_mm,
            height_mm: cabinet.height_mm,
            depth_mm: cabinet.depth_mm,
            stand: cabinet.stand,
            room_c: cabinet.room_c,
        },
        inside_c: recorded.unwrap_or(site.temperature_c),
        inside_known: recorded.is_some(),
        keyed,
    }
}

/// Sorts the catalogue by base kind and key.
pub fn keyed<'m>(models: impl IntoIterator<Item = &'m Model>) -> Keyed {
    let mut keyed = Keyed::new();
    for model in models {
        if let (Some(base), Some(key)) = (model.base, &model.key) {
            keyed.entry((base, key.clone())).or_default().push(model.part_no.clone());
        }
    }
    keyed
}

fn furniture(rail: &place::Rail, known: &impl Known) -> Rail {
    let item = |item: &place::RailItem| Item {
        x_mm: item.x_mm,
        width_mm: item.width_mm,
        what: match item.kind {
            RailItemKind::Terminator => What::Terminator,
            RailItemKind::EndSupport => What::EndSupport,
            RailItemKind::Blank => What::Blank,
            RailItemKind::Base => What::Base,
        },
        model: item.model.as_ref().and_then(|part_no| known.model(part_no)),
    };
    Rail {
        address: rail.address.clone(),
        length_mm: rail.length_mm,
        fed_by: rail.feed.fed_by.clone(),
        redundant: rail.feed.redundant,
        line_m: rail.feed.line_m,
        line_mm2: rail.feed.line_mm2,
        bus_left: rail.bus_left.clone(),
        bus_right: rail.bus_right.clone(),
        items: rail.items.iter().map(item).collect(),
    }
}

fn position(slot: &Slot, known: &impl Known) -> Item {
    let standing = known.standing(&slot.address);
    Item {
        x_mm: slot.x_mm,
        width_mm: slot.width_mm,
        model: standing.as_ref().and_then(|part_no| known.model(part_no)),
        what: What::Slot(Place {
            address: slot.address.clone(),
            base: slot.base,
            key: slot.key.clone(),
            wanted: slot.model_wanted.as_ref().and_then(|part_no| known.model(part_no)),
            filled: standing.is_some(),
            bus: slot.bus_position,
            bus_address: slot.bus_address,
            known: Some(Standing {
                criticality: slot.criticality,
                hot_swap: slot.hot_swap,
                redundant: slot.redundant_partner.is_some(),
            }),
        }),
    }
}
