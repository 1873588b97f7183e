//! From records to the lines that replies show.

use super::stock_handed_out::{self, Out};
use crate::Failure;
use crate::wire::model::{ModelLine, PartsLine, PriceBreak};
use crate::wire::place::{LoopLine, SlotLine};
use crate::wire::stock::{BinPieces, LotLine, OrderLine};
use crate::wire::unit::{FittedBattery, HandedOut, UnitLine};
use crate::wire::words;
use chrono::NaiveDate;
use slotkeep_domain::journal::{Body, Purpose};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::loops::Loop;
use slotkeep_domain::model::{
    FAILURE_ACTIVATION_EV, FAILURE_RATE_AT_C, FAILURE_RATE_WORTH, Model, PartNo,
};
use slotkeep_domain::place::Slot;
use slotkeep_domain::register::View;
use slotkeep_domain::stock::{Lot, Order};
use slotkeep_domain::swap::Swap;
use slotkeep_domain::unit::{Condition, Unit, UnitPlace};
use slotkeep_store::Reader;
use std::cell::{OnceCell, RefCell};
use std::collections::HashMap;

/// Looks models and swaps under way up once for a whole reply.
pub(crate) struct Catalogue<'r, 'c> {
    reader: &'r Reader<'c>,
    known: RefCell<HashMap<PartNo, Option<Model>>>,
    taken: OnceCell<HashMap<LabelCode, Swap>>,
}

impl<'r, 'c> Catalogue<'r, 'c> {
    pub(crate) fn new(reader: &'r Reader<'c>) -> Self {
        Self { reader, known: RefCell::default(), taken: OnceCell::new() }
    }

    pub(crate) fn model(&self, part_no: &PartNo) -> Option<Model> {
        let mut known = self.known.borrow_mut();
        known.entry(part_no.clone()).or_insert_with(|| self.reader.model(part_no)).clone()
    }

    fn title(&self, part_no: &PartNo) -> String {
        self.model(part_no).map(|model| model.title).unwrap_or_default()
    }

    /// What a unit was handed out for. A fault of the store shows when the reply is done.
    fn handed_out(&self, unit: &Unit) -> Option<HandedOut> {
        if !matches!(unit.place, UnitPlace::Bench | UnitPlace::Bin(_)) {
            return None;
        }
        let taken = self.taken.get_or_init(|| {
            self.reader.swaps_under_way().into_iter().map(|swap| (swap.into, swap)).collect()
        });
        stock_handed_out::told(self, taken.get(&unit.label), Out::of(self.reader, unit))
    }

    pub(crate) fn unit(&self, unit: &Unit) -> UnitLine {
        let model = self.model(&unit.model);
        UnitLine {
            label: unit.label.to_string(),
            label_human: unit.label.human(),
            model: unit.model.to_string(),
            model_title: model.as_ref().map(|model| model.title.clone()).unwrap_or_default(),
            serial: unit.serial.clone(),
            revision: unit.revision.clone(),
            firmware: unit.firmware.clone(),
            place: unit.place.to_string(),
            handed_out: self.handed_out(unit),
            since: unit.since,
            condition: unit.condition.word().to_owned(),
            received_on: unit.received_on,
            key: model.and_then(|model| model.key).map(Into::into),
            battery: unit.battery.as_ref().map(|battery| FittedBattery {
                model: battery.model.to_string(),
                made_on: battery.made_on,
                fitted_on: battery.fitted_on,
                lot: battery.lot.as_ref().map(ToString::to_string),
            }),
        }
    }

    pub(crate) fn lot(&self, lot: &Lot, today: NaiveDate) -> LotLine {
        LotLine {
            label: lot.label.to_string(),
            label_human: lot.label.human(),
            code: lot.code.clone(),
            model: lot.model.to_string(),
            model_title: self.title(&lot.model),
            made_on: lot.made_on,
            shelf_until: lot.shelf_until,
            expired: lot.expired_on(today),
            quarantined: lot.quarantined,
            pieces: lot.total(),
            bins: lot
                .pieces
                .iter()
                .map(|(bin, pieces)| BinPieces { bin: bin.to_string(), pieces: *pieces })
                .collect(),
        }
    }

    pub(crate) fn order(&self, order: &Order, today: NaiveDate) -> OrderLine {
        OrderLine {
            order: order.id,
            model: order.model.to_string(),
            model_title: self.title(&order.model),
            storeroom: order.storeroom.clone(),
            ordered: order.ordered,
            received: order.received,
            outstanding: order.outstanding(),
            placed_at: order.placed_at,
            due_on: order.due_on,
            late_d: order.late_d(today),
            number: order.number.clone(),
            price_cents: order.price_cents,
            reason: order.reason.clone(),
            closed: order.closed,
        }
    }

    /// What stock is for, with the slot of a swap under way.
    pub(crate) fn purpose(&self, purpose: &Purpose) -> String {
        match purpose {
            Purpose::Swap(id) => match self.reader.swap(id) {
                Some(swap) => format!("the swap in {}", swap.slot),
                None => purpose.to_string(),
            },
            other => other.to_string(),
        }
    }

    pub(crate) fn slot(&self, slot: &Slot, unit: Option<&Unit>) -> SlotLine {
        SlotLine {
            address: slot.address.to_string(),
            number: slot.address.number().to_owned(),
            label: slot.label.to_string(),
            title: slot.title.clone(),
            base: words::base(slot.base).to_owned(),
            key: slot.key.clone().map(Into::into),
            model_wanted: slot.model_wanted.as_ref().map(ToString::to_string),
            state: self.state(slot, unit).to_owned(),
            unit: unit.map(|unit| self.unit(unit)),
        }
    }

    fn state(&self, slot: &Slot, unit: Option<&Unit>) -> &'static str {
        let Some(unit) = unit else { return "empty" };
        if unit.condition != Condition::Good {
            return unit.condition.word();
        }
        match &slot.model_wanted {
            Some(wanted) if *wanted != unit.model => {
                let allowed =
                    self.model(wanted).is_some_and(|model| model.substitutes.contains(&unit.model));
                if allowed { "good" } else { "other_model" }
            }
            _ => "good",
        }
    }
}

pub(crate) fn model(model: &Model) -> ModelLine {
    ModelLine {
        part_no: model.part_no.to_string(),
        title: model.title.clone(),
        kind: words::model_kind(model.kind).to_owned(),
        base: model.base.map(|base| words::base(base).to_owned()),
        key: model.key.clone().map(Into::into),
        width_mm: model.width_mm,
        channels: model.channels,
        current_24v_ma: model.current_24v_ma,
        heat_w: model.heat_w,
        intrinsically_safe: model.intrinsically_safe,
        battery: model.battery.as_ref().map(|need| need.model.to_string()),
        failure_rate_fit: model.failure_rate_fit,
        mtbf_h: model.mtbf_h,
        parts_count: model
            .parts_count
            .iter()
            .map(|line| PartsLine { title: line.title.clone(), count: line.count, fit: line.fit })
            .collect(),
        failure_rate_at_c: model.failure_rate_at_c.unwrap_or(FAILURE_RATE_AT_C),
        failure_activation_ev: model.failure_activation_ev.unwrap_or(FAILURE_ACTIVATION_EV),
        failure_rate_worth: model.failure_rate_worth.unwrap_or(FAILURE_RATE_WORTH),
        family: model.family.clone(),
        lead_time_d: model.lead_time_d,
        lead_time_spread_d: model.lead_time_spread_d,
        price_cents: model.price_cents,
        pack_size: model.pack_size,
        min_order: model.min_order,
        price_breaks: model
            .price_breaks
            .iter()
            .map(|step| PriceBreak { from: step.from, price_cents: step.price_cents })
            .collect(),
        shelf_life_y: model.shelf_life(),
        last_order_on: model.last_order_on,
        repairable: model.repairable,
        turn_round_d: model.turn_round_d,
        repair_yield_pct: model.repair_yield_pct,
        repair_price_cents: model.repair_price_cents,
        lifecycle: words::lifecycle(model.lifecycle).to_owned(),
        substitutes: model.substitutes.iter().map(ToString::to_string).collect(),
        counted: model.counted,
    }
}

pub(crate) fn wired(wired: &Loop) -> LoopLine {
    LoopLine {
        tag: wired.tag.clone(),
        slot: wired.slot.to_string(),
        channel: wired.channel,
        service: wired.service.clone(),
        on_loss: wired.on_loss.clone(),
        safety_function: wired.safety_function,
    }
}

/// The newest entries about a thing, as lines. Single steps of swaps are left to the journal: a
/// swap's beginning and end say what came of them.
pub(crate) fn history(
    r: &Reader<'_>,
    subject: &str,
    limit: u32,
) -> Result<Vec<crate::wire::journal::EntryLine>, Failure> {
    let filter = slotkeep_store::EntryFilter {
        subject: Some(subject.to_owned()),
        limit: limit * STEPS_OF_A_SWAP,
        ..Default::default()
    };
    let entries = r.entries(&filter)?;
    let told = entries.iter().filter(|kept| !matches!(kept.entry.body, Body::SwapTicked(_)));
    Ok(told.take(limit as usize).map(super::sentence::line).collect())
}

/// So many entries are looked at for each line, which is about what a swap leaves.
const STEPS_OF_A_SWAP: u32 = 20;
