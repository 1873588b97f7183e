use super::{Item, Place, Rail, What, buses};
use crate::key::KeySetting;
use crate::model::{BaseKind, Model, ModelKind, PartNo};
use crate::place::{BusPosition, SlotAddress};
use std::collections::BTreeMap;
use std::sync::Arc;

/// One thing that is to stand on a rail, after the one before it.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// Free width before it, mm.
    pub gap_mm: f64,
    pub what: WishKind,
    pub model: Option<Arc<Model>>,
}

#[derive(Debug, Clone, PartialEq)]
pub enum WishKind {
    /// A position that is there already, or a new one.
    Slot {
        slot: Option<SlotAddress>,
        /// The base is to stay without a module.
        empty: bool,
        key: Option<KeySetting>,
        bus_address: Option<u32>,
    },
    Terminator,
    EndSupport,
    Blank,
    Base,
}

/// Why a plan cannot be laid out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("item {position}: {why}")]
pub struct PlanRefusal {
    /// From 1, left to right.
    pub position: usize,
    pub why: String,
}

/// Lays wishes out from the left end of a rail, each as wide as the catalogue says.
///
/// New positions get the numbers after the highest of the rail. Power supplies stand off the bus;
/// which units end it follows from how they stand. What has no model keeps the width that it has
/// on the rail now, or none.
///
/// Fails where a slot is not on this rail or stands twice, and where a model does not go where it
/// is put.
pub fn planned(rail: &Rail, wishes: &[Wish]) -> Result<Rail, PlanRefusal> {
    let mut next = rail.places().filter_map(|(_, place)| number(&place.address)).max().unwrap_or(0);
    let mut laid = Rail { items: Vec::with_capacity(wishes.len()), ..rail.clone() };
    let mut x_mm = 0.0;
    for (at, wish) in wishes.iter().enumerate() {
        let refuse = |why: String| PlanRefusal { position: at + 1, why };
        if !(wish.gap_mm.is_finite() && wish.gap_mm >= 0.0) {
            return Err(refuse(format!(
                "a gap of {} mm is no width: write 0 or more",
                wish.gap_mm
            )));
        }
        x_mm += wish.gap_mm;
        let mut item = item(rail, wish, &mut next).map_err(refuse)?;
        if let Some(place) = item.place()
            && laid.places().any(|(_, before)| before.address == place.address)
        {
            let why = format!("{} stands twice: leave it in one place", place.address);
            return Err(refuse(why));
        }
        item.x_mm = x_mm;
        x_mm += item.width_mm;
        laid.items.push(item);
    }
    let ends = ends(&laid);
    for (item, is_end) in laid.items.iter_mut().zip(ends) {
        if let What::Slot(place) = &mut item.what
            && place.bus != BusPosition::Off
        {
            place.bus = if is_end { BusPosition::End } else { BusPosition::Inner };
        }
    }
    Ok(laid)
}

/// Whether each item ends a bus that does not go on to another rail.
fn ends(rail: &Rail) -> Vec<bool> {
    let mut ends = vec![false; rail.items.len()];
    for bus in buses(rail).buses {
        if let (Some(first), None) = (bus.units.first(), &rail.bus_left) {
            ends[*first] = true;
        }
        if let (Some(last), None) = (bus.units.last(), &rail.bus_right) {
            ends[*last] = true;
        }
    }
    ends
}

fn item(rail: &Rail, wish: &Wish, next: &mut u32) -> Result<Item, String> {
    let kind = wish.model.as_ref().map(|model| model.kind);
    let goes = |wanted: ModelKind, called: &str| match (&wish.model, kind) {
        (Some(model), Some(kind)) if kind != wanted => {
            Err(format!("{} is no {called}: choose another model", model.part_no))
        }
        _ => Ok(()),
    };
    let what = match &wish.what {
        WishKind::Terminator => {
            goes(ModelKind::Terminator, "terminator").map(|()| What::Terminator)?
        }
        WishKind::EndSupport => {
            goes(ModelKind::EndSupport, "end support").map(|()| What::EndSupport)?
        }
        WishKind::Blank => goes(ModelKind::Blank, "blank").map(|()| What::Blank)?,
        WishKind::Base => goes(ModelKind::Base, "base").map(|()| What::Base)?,
        WishKind::Slot { slot: Some(slot), empty, key, bus_address } => {
            let known = rail.places().find(|(_, place)| place.address == *slot);
            let (item, place) =
                known.ok_or_else(|| format!("{slot} is not on rail {}", rail.address))?;
            let mut place = place.clone();
            place.filled = !empty;
            place.key = key.clone().or(place.key);
            place.bus_address = bus_address.or(place.bus_address);
            if let Some(model) = &wish.model {
                place.wanted = Some(fits(model, Some(place.base))?);
            }
            let model = (!empty).then(|| wish.model.clone().or_else(|| item.meant().cloned()));
            let model = model.flatten();
            let width = model.as_ref().or(place.wanted.as_ref()).map(|model| model.width_mm);
            return Ok(Item {
                x_mm: 0.0,
                width_mm: width.unwrap_or(item.width_mm),
                what: What::Slot(place),
                model,
            });
        }
        WishKind::Slot { slot: None, empty, key, bus_address } => {
            let model = wish.model.as_ref().ok_or("a new position needs a model: choose one")?;
            let model = fits(model, None)?;
            *next += 1;
            let address = SlotAddress::parse(&format!("{}.{next}", rail.address))
                .map_err(|_| format!("number {next} is past what slots can have"))?;
            let supply = model.kind == ModelKind::PowerSupply;
            What::Slot(Place {
                address,
                base: model.base.unwrap_or(BaseKind::Own),
                key: key.clone().or_else(|| model.key.clone()),
                wanted: Some(model),
                filled: !empty,
                bus: if supply { BusPosition::Off } else { BusPosition::Inner },
                bus_address: *bus_address,
                known: None,
            })
        }
    };
    let empty = matches!(wish.what, WishKind::Slot { empty: true, .. });
    Ok(Item {
        x_mm: 0.0,
        width_mm: wish.model.as_ref().map_or(0.0, |model| model.width_mm),
        what,
        model: wish.model.clone().filter(|_| !empty),
    })
}

/// The model if it stands in a slot, and on a base of this kind.
fn fits(model: &Arc<Model>, base: Option<BaseKind>) -> Result<Arc<Model>, String> {
    if !model.is_slot_unit() {
        return Err(format!("{} does not stand in a slot: choose another model", model.part_no));
    }
    match (base, model.base) {
        (Some(base), Some(of)) if base != of => {
            let part_no = &model.part_no;
            Err(format!("{part_no} takes another kind of base: plan a new position for it"))
        }
        _ => Ok(model.clone()),
    }
}

fn number(slot: &SlotAddress) -> Option<u32> {
    slot.number().parse().ok()
}

/// Pieces of each model.
pub type Pieces = BTreeMap<PartNo, i32>;

/// What a plan takes more of each model than stands there now; below zero what comes back.
///
/// `base_of` names the model of a base kind: bases are counted with the slots on them.
pub fn pieces(now: &Rail, plan: &Rail, base_of: &impl Fn(BaseKind) -> Option<PartNo>) -> Pieces {
    let mut pieces = Pieces::new();
    for (rail, sign) in [(now, -1), (plan, 1)] {
        for item in &rail.items {
            let own = item.model.as_ref().map(|model| model.part_no.clone());
            let base = item.place().and_then(|place| base_of(place.base));
            for part_no in own.into_iter().chain(base) {
                *pieces.entry(part_no).or_default() += sign;
            }
        }
    }
    pieces.retain(|_, count| *count != 0);
    pieces
}
