//! `models.json`: what it says, once its schema found it right.

use super::csv_file::hash;
use super::on_rail::{self, OnRailJson};
use super::problem::Problems;
use super::supply::{self, PartsJson, PriceBreakJson};
use super::{Row, SiteFile, json};
use serde::Deserialize;
use serde_json::Value;
use slotkeep_domain::key::KeySetting;
use slotkeep_domain::model::{
    BaseKind, BatteryNeed, Cell, ChangeWith, CodePattern, EntityOutput, Lifecycle, Model,
    ModelKind, PartNo,
};
const MODELS: &str = include_str!("../../../../../schemas/files/models.json");

#[derive(Deserialize)]
struct ModelJson {
    part_no: String,
    title: String,
    kind: String,
    base: Option<String>,
    key_scheme: Option<String>,
    key_code: Option<String>,
    width_mm: f64,
    #[serde(default)]
    channels: u32,
    current_24v_ma: Option<f64>,
    supply_rating_ma: Option<f64>,
    heat_w: Option<f64>,
    #[serde(default)]
    intrinsically_safe: bool,
    entity: Option<EntityJson>,
    battery: Option<BatteryJson>,
    cell: Option<CellJson>,
    failure_rate_fit: Option<f64>,
    mtbf_h: Option<f64>,
    #[serde(default)]
    parts_count: Vec<PartsJson>,
    failure_rate_at_c: Option<f64>,
    failure_activation_ev: Option<f64>,
    failure_rate_worth: Option<f64>,
    family: Option<String>,
    lead_time_d: Option<u32>,
    lead_time_spread_d: Option<f64>,
    price_cents: Option<i64>,
    pack_size: Option<u32>,
    min_order: Option<u32>,
    #[serde(default)]
    price_breaks: Vec<PriceBreakJson>,
    shelf_life_y: Option<f64>,
    last_order_on: Option<String>,
    lifecycle: Option<String>,
    #[serde(default)]
    substitutes: Vec<String>,
    #[serde(default)]
    revisions: Vec<String>,
    #[serde(default)]
    maker_codes: Vec<String>,
    #[serde(default)]
    code_patterns: Vec<String>,
    #[serde(default)]
    repairable: bool,
    turn_round_d: Option<u32>,
    repair_yield_pct: Option<f64>,
    repair_price_cents: Option<i64>,
    #[serde(default)]
    counted: bool,
    on_rail: Option<OnRailJson>,
}

#[derive(Deserialize)]
struct EntityJson {
    uo_v: f64,
    io_ma: f64,
    po_mw: f64,
    co_nf: Option<f64>,
    lo_mh: Option<f64>,
    lo_ro_uh_ohm: Option<f64>,
}

#[derive(Deserialize)]
struct BatteryJson {
    model: String,
    cells: u32,
    standby_drain_ua: f64,
    backup_drain_ua: Option<f64>,
    ride_through_s: Option<u32>,
    standby_spread_pct: Option<f64>,
    backup_spread_pct: Option<f64>,
    change_with: Option<String>,
    change_min: Option<u32>,
}

#[derive(Deserialize)]
struct CellJson {
    designation: Option<String>,
    capacity_mah: f64,
    self_discharge_pct_a: f64,
    shelf_life_y: Option<f64>,
    max_age_y: Option<f64>,
    capacity_spread_pct: Option<f64>,
    self_discharge_spread_pct: Option<f64>,
    activation_energy_ev: Option<f64>,
}

/// Reads the catalogue lines of `models.json`.
pub(super) fn models(file: Option<&SiteFile>, problems: &mut Problems) -> Vec<Row<Model>> {
    const NAME: &str = "models.json";
    let Some((value, wrong)) = json::read(NAME, MODELS, file, problems) else { return Vec::new() };
    if wrong.iter().any(|pointer| !pointer.starts_with("/models/")) {
        problems.unread.insert(NAME);
    }
    let mut models = Vec::new();
    for (at, line) in value["models"].as_array().into_iter().flatten().enumerate() {
        let pointer = format!("/models/{at}");
        let inside = format!("{pointer}/");
        if wrong.iter().any(|wrong| *wrong == pointer || wrong.starts_with(&inside)) {
            problems.bad_models.extend(line["part_no"].as_str().map(str::to_owned));
            continue;
        }
        let Some(read) = typed::<ModelJson>(NAME, line, &pointer, problems) else { continue };
        match model(read) {
            Ok(model) => {
                let key = model.part_no.to_string();
                models.push(row(NAME, key, model, line, &pointer, problems));
            }
            Err((field, expected)) => {
                problems.bad_models.extend(line["part_no"].as_str().map(str::to_owned));
                let found = match line.pointer(&format!("/{field}")) {
                    Some(Value::String(text)) => text.clone(),
                    Some(value) => value.to_string(),
                    None => String::new(),
                };
                problems.json(NAME, &format!("{pointer}/{field}"), found, expected);
            }
        }
    }
    models
}

/// The field of a line, as a pointer within it, and what is expected there.
pub(super) type Misfit = (String, String);

fn model(read: ModelJson) -> Result<Model, Misfit> {
    let part = |field: &str, text: &str| PartNo::parse(text).map_err(|why| (field.to_owned(), why));
    let key = match (read.key_scheme, read.key_code) {
        (Some(scheme), Some(code)) => Some(KeySetting { scheme, code }),
        (None, None) => None,
        _ => {
            let both = "key_scheme and key_code together, or neither";
            return Err(("key_code".to_owned(), both.to_owned()));
        }
    };
    let battery = match read.battery {
        Some(need) => Some(BatteryNeed {
            model: part("battery", &need.model)?,
            cells: need.cells,
            standby_drain_ua: need.standby_drain_ua,
            backup_drain_ua: need.backup_drain_ua,
            ride_through_s: need.ride_through_s,
            standby_spread_pct: need.standby_spread_pct,
            backup_spread_pct: need.backup_spread_pct,
            change_with: need
                .change_with
                .map(|text| word(CHANGES_WITH, &text).ok_or_else(|| unknown("battery/change_with")))
                .transpose()?,
            change_min: need.change_min,
        }),
        None => None,
    };
    let model = Model {
        part_no: part("part_no", &read.part_no)?,
        title: read.title,
        kind: word(MODEL_KINDS, &read.kind).ok_or_else(|| unknown("kind"))?,
        base: read.base.map(|base| base_kind(&base).ok_or_else(|| unknown("base"))).transpose()?,
        key,
        width_mm: read.width_mm,
        channels: read.channels,
        current_24v_ma: read.current_24v_ma,
        supply_rating_ma: read.supply_rating_ma,
        heat_w: read.heat_w,
        intrinsically_safe: read.intrinsically_safe,
        entity: read.entity.map(entity),
        battery,
        cell: read.cell.map(cell),
        failure_rate_fit: read.failure_rate_fit,
        mtbf_h: read.mtbf_h,
        parts_count: read.parts_count.into_iter().map(supply::parts).collect(),
        failure_rate_at_c: read.failure_rate_at_c,
        failure_activation_ev: read.failure_activation_ev,
        failure_rate_worth: read.failure_rate_worth,
        family: read.family,
        lead_time_d: read.lead_time_d,
        lead_time_spread_d: read.lead_time_spread_d,
        price_cents: read.price_cents,
        pack_size: read.pack_size,
        min_order: read.min_order,
        price_breaks: read.price_breaks.into_iter().map(supply::price_break).collect(),
        shelf_life_y: read.shelf_life_y,
        last_order_on: read.last_order_on.as_deref().map(supply::day).transpose()?,
        lifecycle: match read.lifecycle.as_deref() {
            None => Lifecycle::Active,
            Some(text) => word(LIFECYCLES, text).ok_or_else(|| unknown("lifecycle"))?,
        },
        substitutes: read
            .substitutes
            .iter()
            .map(|text| part("substitutes", text))
            .collect::<Result<_, _>>()?,
        revisions: read.revisions,
        maker_codes: read.maker_codes,
        code_patterns: patterns(&read.code_patterns)?,
        repairable: read.repairable,
        turn_round_d: read.turn_round_d,
        repair_yield_pct: read.repair_yield_pct,
        repair_price_cents: read.repair_price_cents,
        counted: read.counted,
        on_rail: read.on_rail.map(on_rail::read).transpose()?.unwrap_or_default(),
    };
    let sound = model.check_supply();
    sound.map_err(|no| (no.field.clone(), no.to_do.to_owned()))?;
    Ok(model)
}

fn unknown(field: &str) -> Misfit {
    (field.to_owned(), "a word that this version knows".to_owned())
}

fn patterns(texts: &[String]) -> Result<Vec<CodePattern>, Misfit> {
    let read = |(at, text): (usize, &String)| {
        CodePattern::parse(text).map_err(|why| (format!("code_patterns/{at}"), why.to_string()))
    };
    texts.iter().enumerate().map(read).collect()
}

fn entity(read: EntityJson) -> EntityOutput {
    EntityOutput {
        uo_v: read.uo_v,
        io_ma: read.io_ma,
        po_mw: read.po_mw,
        co_nf: read.co_nf,
        lo_mh: read.lo_mh,
        lo_ro_uh_ohm: read.lo_ro_uh_ohm,
    }
}

fn cell(read: CellJson) -> Cell {
    Cell {
        designation: read.designation,
        capacity_mah: read.capacity_mah,
        self_discharge_pct_a: read.self_discharge_pct_a,
        shelf_life_y: read.shelf_life_y,
        max_age_y: read.max_age_y,
        capacity_spread_pct: read.capacity_spread_pct,
        self_discharge_spread_pct: read.self_discharge_spread_pct,
        activation_energy_ev: read.activation_energy_ev,
    }
}

pub(super) fn typed<T: for<'a> Deserialize<'a>>(
    file: &'static str,
    value: &Value,
    pointer: &str,
    problems: &mut Problems,
) -> Option<T> {
    match T::deserialize(value) {
        Ok(read) => Some(read),
        Err(error) => {
            problems.json(file, pointer, "", error.to_string());
            None
        }
    }
}

pub(super) fn row<T>(
    file: &'static str,
    key: String,
    value: T,
    said: &Value,
    pointer: &str,
    problems: &Problems,
) -> Row<T> {
    let line = problems.positions.get(file).map_or(1, |positions| positions.nearest(pointer).0);
    let mut evened = said.clone();
    even_out(&mut evened);
    Row { file, line, key, digest: hash(evened.to_string().as_bytes()), value }
}

/// Brings a JSON value to one written form: fields in order, nulls left out, 1.0 as 1.
fn even_out(value: &mut Value) {
    match value {
        Value::Object(fields) => {
            fields.retain(|_, field| !field.is_null());
            fields.sort_keys();
            fields.values_mut().for_each(even_out);
        }
        Value::Array(list) => list.iter_mut().for_each(even_out),
        Value::Number(number) => {
            if let Some(float) = number.as_f64() {
                *value = Value::from(float);
            }
        }
        _ => {}
    }
}

/// Finds the value of a word in a table.
pub(super) fn word<T: Copy>(table: &[(&str, T)], text: &str) -> Option<T> {
    table.iter().find(|(word, _)| *word == text).map(|(_, value)| *value)
}

pub(super) fn base_kind(text: &str) -> Option<BaseKind> {
    word(BASES, text)
}

const BASES: &[(&str, BaseKind)] = &[
    ("one_piece", BaseKind::OnePiece),
    ("compact", BaseKind::Compact),
    ("extended", BaseKind::Extended),
    ("intrinsically_safe", BaseKind::IntrinsicallySafe),
    ("own", BaseKind::Own),
];

const MODEL_KINDS: &[(&str, ModelKind)] = &[
    ("controller", ModelKind::Controller),
    ("module_one_piece", ModelKind::ModuleOnePiece),
    ("module", ModelKind::Module),
    ("power_supply", ModelKind::PowerSupply),
    ("terminator", ModelKind::Terminator),
    ("end_support", ModelKind::EndSupport),
    ("base", ModelKind::Base),
    ("battery", ModelKind::Battery),
    ("blank", ModelKind::Blank),
    ("consumable", ModelKind::Consumable),
];

const CHANGES_WITH: &[(&str, ChangeWith)] = &[
    ("powered", ChangeWith::Powered),
    ("unpowered", ChangeWith::Unpowered),
    ("either", ChangeWith::Either),
];

const LIFECYCLES: &[(&str, Lifecycle)] = &[
    ("active", Lifecycle::Active),
    ("discontinued", Lifecycle::Discontinued),
    ("recalled", Lifecycle::Recalled),
];
