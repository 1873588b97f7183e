//! A made slot and a made spare that pass every rule.

use crate::key::{KeyScheme, KeySetting};
use crate::label::{LabelCode, LabelKind, SitePrefix};
use crate::lineup::{Body, Cabinet, Item, Keyed, Place, Rail, Stand, What};
use crate::loops::{EntityInput, Loop};
use crate::model::{BaseKind, EntityOutput, Model, ModelKind, OnRail, PartNo, made};
use crate::place::{
    BinPath, BusPosition, CabinetAddress, Criticality, RailAddress, Slot, SlotAddress,
};
use crate::swap::{Finding, Rule, Seat, Situation, Spare, verdict};
use crate::unit::{Condition, Unit, UnitPlace};
use chrono::{DateTime, NaiveDate};
use std::sync::Arc;

pub fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 25).unwrap()
}

pub fn label(kind: LabelKind, number: u32) -> LabelCode {
    LabelCode::allocate(SitePrefix::parse("MP").unwrap(), kind, number)
}

pub fn part(text: &str) -> PartNo {
    PartNo::parse(text).unwrap()
}

pub fn key(scheme: &str, code: &str) -> Option<KeySetting> {
    Some(KeySetting { scheme: scheme.to_owned(), code: code.to_owned() })
}

pub fn address(text: &str) -> SlotAddress {
    SlotAddress::parse(text).unwrap()
}

/// A module for intrinsically safe bases.
pub fn model(part_no: &str) -> Model {
    Model {
        base: Some(BaseKind::IntrinsicallySafe),
        key: key("is", "KM"),
        width_mm: 30.0,
        channels: 4,
        current_24v_ma: Some(130.0),
        heat_w: Some(3.0),
        intrinsically_safe: true,
        entity: Some(EntityOutput {
            uo_v: 25.2,
            io_ma: 93.0,
            po_mw: 586.0,
            co_nf: Some(107.0),
            lo_mh: Some(4.1),
            lo_ro_uh_ohm: Some(62.0),
        }),
        revisions: vec!["A".to_owned(), "B".to_owned(), "C".to_owned()],
        on_rail: OnRail {
            buses: vec!["field".to_owned()],
            bus_current_ma: Some(20.0),
            inrush_ma: Some(200.0),
            min_voltage_v: Some(19.0),
            through_mohm: Some(5.0),
            max_ambient_c: Some(60.0),
            ..OnRail::default()
        },
        ..made(part_no, ModelKind::Module)
    }
}

/// A cabinet whose rail has a supply, a head of the bus, and the slot with its partner.
fn cabinet() -> Cabinet {
    let mut supply = model("MP-S");
    supply.kind = ModelKind::PowerSupply;
    supply.supply_rating_ma = Some(2000.0);
    supply.on_rail =
        OnRail { supply_peak_ma: Some(3000.0), supply_v: Some(24.0), ..OnRail::default() };
    let mut head = model("MP-H");
    head.on_rail.bus_units_max = Some(4);
    head.on_rail.bus_supply_ma = Some(100.0);
    let places = [
        (supply, "+K12.3.01", BusPosition::Off),
        (head, "+K12.3.02", BusPosition::End),
        (model("MP-A"), "+K12.3.04", BusPosition::Inner),
        (model("MP-A"), "+K12.3.05", BusPosition::End),
    ];
    let items = places.into_iter().enumerate().map(|(at, (model, slot, bus))| {
        let model = Arc::new(model);
        let place = Place {
            address: address(slot),
            base: BaseKind::IntrinsicallySafe,
            key: model.key.clone(),
            wanted: Some(model.clone()),
            filled: true,
            bus,
            bus_address: None,
            known: None,
        };
        Item { x_mm: 30.0 * at as f64, width_mm: 30.0, what: What::Slot(place), model: Some(model) }
    });
    let rail = Rail {
        address: RailAddress::parse("+K12.3").unwrap(),
        length_mm: 700.0,
        fed_by: None,
        redundant: None,
        line_m: Some(2.0),
        line_mm2: Some(1.5),
        bus_left: None,
        bus_right: None,
        items: items.collect(),
    };
    Cabinet {
        address: CabinetAddress::parse("+K12").unwrap(),
        area: "INT".to_owned(),
        rails: vec![rail],
        body: Body {
            width_mm: 760.0,
            height_mm: 1900.0,
            depth_mm: Some(400.0),
            stand: Some(Stand { back_to_wall: true, neighbours: 0, top_covered: false }),
            room_c: Some(35.0),
        },
        inside_c: 38.0,
        inside_known: true,
        keyed: Arc::new(Keyed::new()),
    }
}

pub fn unit(part_no: &str, number: u32, place: &str) -> Unit {
    Unit {
        label: label(LabelKind::Unit, number),
        model: part(part_no),
        serial: number.to_string(),
        revision: Some("B".to_owned()),
        firmware: Some("2.4".to_owned()),
        place: UnitPlace::parse(place).unwrap(),
        since: DateTime::UNIX_EPOCH,
        since_unknown: false,
        last_stay: None,
        condition: Condition::Good,
        received_on: None,
        battery: None,
        battery_seen: None,
    }
}

pub fn wired(tag: &str, channel: u32) -> Loop {
    Loop {
        tag: tag.to_owned(),
        slot: address("+K12.3.04"),
        channel,
        service: "Level".to_owned(),
        on_loss: None,
        effect: None,
        clearance: None,
        safety_function: false,
        entity: Some(EntityInput {
            ui_v: Some(30.0),
            ii_ma: Some(100.0),
            pi_mw: Some(750.0),
            ci_nf: Some(11.0),
            li_mh: Some(0.02),
            cable_m: Some(85.0),
            ..EntityInput::default()
        }),
    }
}

pub fn seat() -> Seat {
    let outgoing = unit("MP-A", 1, "+K12.3.04");
    let partner = unit("MP-A", 2, "+K12.3.05");
    Seat {
        slot: Slot {
            address: address("+K12.3.04"),
            label: label(LabelKind::Slot, 1),
            title: "Filter bed 1".to_owned(),
            x_mm: 100.0,
            width_mm: 30.0,
            base: BaseKind::IntrinsicallySafe,
            key: key("is", "KM"),
            model_wanted: Some(part("MP-A")),
            min_revision: Some("B".to_owned()),
            min_firmware: Some("2.4".to_owned()),
            redundant_partner: Some(address("+K12.3.05")),
            bus_position: BusPosition::Inner,
            bus_address: None,
            hot_swap: true,
            criticality: Criticality::Vital,
        },
        wanted: Some(model("MP-A")),
        standing: Some(outgoing.label),
        outgoing: Some((outgoing, model("MP-A"))),
        partner: Some((address("+K12.3.05"), Some(partner))),
        loops: vec![wired("LIT-1", 1), wired("LIT-2", 4)],
        key_scheme: Some(KeyScheme {
            name: "is".to_owned(),
            title: String::new(),
            keys: 2,
            letters: "KLMNPR".to_owned(),
            intrinsically_safe: true,
        }),
        swap_open: false,
        cabinet: Some(Arc::new(cabinet())),
        settings: Vec::new(),
        own: Vec::new(),
        today: today(),
    }
}

pub fn spare() -> Spare {
    Spare {
        unit: unit("MP-A", 3, BinPath::parse("ST1/A-03").unwrap().as_str()),
        model: model("MP-A"),
        kept_for: None,
        promised_to: None,
        battery: None,
    }
}

pub fn judged(seat: &Seat, spare: &Spare) -> Vec<Finding> {
    verdict(&Situation { seat, spare })
}

/// The findings of one rule.
pub fn of(rule: Rule, seat: &Seat, spare: &Spare) -> Vec<Finding> {
    judged(seat, spare).into_iter().filter(|finding| finding.rule == rule).collect()
}
