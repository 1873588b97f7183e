use super::{text, words};
use chrono::{DateTime, NaiveDate, SecondsFormat, Utc, Weekday};
use slotkeep_domain::journal::{CellFound, PastKind, PowerScope, Purpose, Removable, ReservedWhat};
use slotkeep_domain::label::{LabelCode, SitePrefix};
use slotkeep_domain::loops::{Clearance, LossEffect};
use slotkeep_domain::model::{
    BaseKind, ChangeWith, CodePattern, Feeds, Lifecycle, ModelKind, PartNo,
};
use slotkeep_domain::people::Role;
use slotkeep_domain::photo::PhotoHash;
use slotkeep_domain::place::{
    AbcBy, BinPath, BusPosition, CabinetAddress, Criticality, GroupBy, Measure, RailAddress,
    RailItemKind, SlotAddress,
};
use slotkeep_domain::register::{Settled, StayEnd};
use slotkeep_domain::rules::own::Judges;
use slotkeep_domain::swap::procedure::{Act, Kind, Redundancy, Wired};
use slotkeep_domain::swap::{Rule, RuleOf, Severity};
use slotkeep_domain::unit::{Condition, UnitPlace};
use uuid::Uuid;

text! {
    LabelCode, "label", |v: &LabelCode| v.as_str().to_owned(), LabelCode::parse;
    SitePrefix, "label prefix", ToString::to_string, SitePrefix::parse;
    CabinetAddress, "cabinet address", ToString::to_string, CabinetAddress::parse;
    RailAddress, "rail address", ToString::to_string, RailAddress::parse;
    SlotAddress, "slot address", ToString::to_string, SlotAddress::parse;
    BinPath, "bin path", ToString::to_string, BinPath::parse;
    PartNo, "part number", ToString::to_string, PartNo::parse;
    CodePattern, "pattern of a maker's code", |v: &CodePattern| v.as_str().to_owned(),
        |t: &str| Ok::<_, String>(CodePattern::kept(t.to_owned()));
    UnitPlace, "place of a unit", ToString::to_string, UnitPlace::parse;
    NaiveDate, "date", ToString::to_string, |t: &str| t.parse::<NaiveDate>();
    Uuid, "entry id", ToString::to_string, Uuid::parse_str;
    DateTime<Utc>, "time",
        |v: &DateTime<Utc>| v.to_rfc3339_opts(SecondsFormat::Millis, true),
        |t: &str| DateTime::parse_from_rfc3339(t).map(|time| time.to_utc());
    RuleOf, "rule of a swap", write_rule, read_rule;
    Judges, "what a rule judges", |v: &Judges| v.word().to_owned(),
        |t: &str| Judges::parse(t).ok_or_else(|| t.to_owned());
    Severity, "severity", |v: &Severity| v.word().to_owned(),
        |t: &str| Severity::parse(t).ok_or_else(|| t.to_owned());
    Act, "act of a step", |v: &Act| v.name().to_owned(),
        |t: &str| Act::parse(t).ok_or_else(|| t.to_owned());
    PhotoHash, "name of a photo", ToString::to_string, PhotoHash::parse;
    Role, "role", |v: &Role| v.word().to_owned(), Role::parse;
    PowerScope, "power-off", write_scope, read_scope;
    Settled, "end of a planned power-off", write_settled, read_settled;
    Purpose, "purpose of stock", write_purpose, read_purpose;
    ReservedWhat, "reserved stock", write_reserved, read_reserved;
    Removable, "removed place", write_removable, read_removable;
}

words! {
    Redundancy, "redundancy" {
        Single = "single", Partner = "partner", PartnerMissing = "partner_missing",
    }
    Kind, "kind of unit" {
        Module = "module", Controller = "controller", PowerSupply = "power_supply",
    }
    Wired, "loops of a slot" {
        Nothing = "none", Loops = "loops", SafetyFunction = "safety_function",
    }
    Measure, "measure of service" {
        NoStockOut = "no_stock_out", FillRate = "fill_rate", Backorders = "backorders",
        DownTime = "down_time_h",
    }
    AbcBy, "rule of the list by value" { ShareBefore = "share_before", ShareAfter = "share_after" }
    RailItemKind, "rail item" {
        Terminator = "terminator", EndSupport = "end_support", Blank = "blank", Base = "base",
    }
    BusPosition, "bus position" { Off = "off", Inner = "inner", End = "end" }
    Criticality, "criticality" {
        Vital = "vital", Essential = "essential", Desirable = "desirable",
    }
    ModelKind, "kind of model" {
        Controller = "controller", ModuleOnePiece = "module_one_piece", Module = "module",
        PowerSupply = "power_supply", Terminator = "terminator", EndSupport = "end_support",
        Base = "base", Battery = "battery", Blank = "blank", Consumable = "consumable",
    }
    BaseKind, "kind of base" {
        OnePiece = "one_piece", Compact = "compact", Extended = "extended",
        IntrinsicallySafe = "intrinsically_safe", Own = "own",
    }
    Feeds, "bases that a power supply feeds" {
        Standard = "standard", IntrinsicallySafe = "intrinsically_safe",
    }
    Lifecycle, "lifecycle state" {
        Active = "active", Discontinued = "discontinued", Recalled = "recalled",
    }
    Condition, "condition" {
        Good = "good", Suspect = "suspect", Failed = "failed", Quarantined = "quarantined",
    }
    ChangeWith, "power at a battery change" {
        Powered = "powered", Unpowered = "unpowered", Either = "either",
    }
    GroupBy, "group of visits" { Cabinet = "cabinet", Area = "area" }
    Weekday, "day of the week" {
        Mon = "mon", Tue = "tue", Wed = "wed", Thu = "thu", Fri = "fri", Sat = "sat", Sun = "sun",
    }
    CellFound, "state of a cell" {
        Good = "good", Weak = "weak", Spent = "spent", NotJudged = "not_judged",
    }
    LossEffect, "effect of a lost signal" {
        Trip = "trip", ValveOpens = "valve_opens", ValveCloses = "valve_closes",
        ValveStays = "valve_stays", ValueHeld = "value_held", AlarmOnly = "alarm_only",
    }
    Clearance, "clearance of a loop" {
        Manual = "manual", Bypass = "bypass", Announce = "announce", Nothing = "nothing",
    }
    StayEnd, "end of a stay" {
        Failure = "failure", NoFaultFound = "no_fault_found", Other = "other",
    }
    PastKind, "past event" {
        Failure = "failure", NoFaultFound = "no_fault_found", Repair = "repair", Removed = "removed", Installed = "installed",
        BatteryChanged = "battery_changed", BatterySeen = "battery_seen", Inspection = "inspection", Received = "received",
        Issued = "issued",
    }
}

fn write_scope(scope: &PowerScope) -> String {
    match scope {
        PowerScope::Site => "site".to_owned(),
        PowerScope::Area(code) => format!("area:{code}"),
        PowerScope::Cabinet(address) => format!("cabinet:{address}"),
    }
}

fn read_scope(text: &str) -> Result<PowerScope, String> {
    match text.split_once(':') {
        None if text == "site" => Ok(PowerScope::Site),
        Some(("area", code)) => Ok(PowerScope::Area(code.to_owned())),
        Some(("cabinet", address)) => {
            CabinetAddress::parse(address).map(PowerScope::Cabinet).map_err(|e| e.to_string())
        }
        _ => Err(text.to_owned()),
    }
}

fn write_settled(settled: &Settled) -> String {
    match settled {
        Settled::Happened(entry) => format!("happened:{entry}"),
        Settled::CalledOff(reason) => format!("called_off:{reason}"),
    }
}

fn read_settled(text: &str) -> Result<Settled, String> {
    match text.split_once(':') {
        Some(("happened", id)) => {
            Uuid::parse_str(id).map(Settled::Happened).map_err(|e| e.to_string())
        }
        Some(("called_off", reason)) => Ok(Settled::CalledOff(reason.to_owned())),
        _ => Err(text.to_owned()),
    }
}

fn write_removable(what: &Removable) -> String {
    match what {
        Removable::Cabinet(address) => format!("cabinet:{address}"),
        Removable::Rail(address) => format!("rail:{address}"),
        Removable::Slot(address) => format!("slot:{address}"),
        Removable::Bin(path) => format!("bin:{path}"),
        Removable::Loop(tag) => format!("loop:{tag}"),
    }
}

fn read_removable(text: &str) -> Result<Removable, String> {
    let (kind, name) = text.split_once(':').ok_or_else(|| text.to_owned())?;
    let read = match kind {
        "cabinet" => CabinetAddress::parse(name).map(Removable::Cabinet),
        "rail" => RailAddress::parse(name).map(Removable::Rail),
        "slot" => SlotAddress::parse(name).map(Removable::Slot),
        "bin" => BinPath::parse(name).map(Removable::Bin),
        "loop" => Ok(Removable::Loop(name.to_owned())),
        _ => return Err(text.to_owned()),
    };
    read.map_err(|refusal| refusal.to_string())
}

fn write_purpose(purpose: &Purpose) -> String {
    match purpose {
        Purpose::Words(words) => format!("words:{words}"),
        Purpose::Slot(slot) => format!("slot:{slot}"),
        Purpose::Swap(swap) => format!("swap:{swap}"),
        Purpose::Visit { on, scope } => format!("visit:{on}:{}", write_scope(scope)),
    }
}

fn read_purpose(text: &str) -> Result<Purpose, String> {
    let wrong = || text.to_owned();
    let (kind, rest) = text.split_once(':').ok_or_else(wrong)?;
    match kind {
        "words" => Ok(Purpose::Words(rest.to_owned())),
        "slot" => SlotAddress::parse(rest).map(Purpose::Slot).map_err(|why| why.to_string()),
        "swap" => Uuid::parse_str(rest).map(Purpose::Swap).map_err(|why| why.to_string()),
        "visit" => {
            let (on, scope) = rest.split_once(':').ok_or_else(wrong)?;
            let on = on.parse::<NaiveDate>().map_err(|why| why.to_string())?;
            Ok(Purpose::Visit { on, scope: read_scope(scope)? })
        }
        _ => Err(wrong()),
    }
}

fn write_reserved(what: &ReservedWhat) -> String {
    match what {
        ReservedWhat::Unit(label) => format!("unit:{}", label.as_str()),
        ReservedWhat::Pieces { model, storeroom, pieces } => {
            format!("pieces:{pieces}:{storeroom}:{model}")
        }
    }
}

fn read_reserved(text: &str) -> Result<ReservedWhat, String> {
    let wrong = || text.to_owned();
    let (kind, rest) = text.split_once(':').ok_or_else(wrong)?;
    if kind == "unit" {
        return LabelCode::parse(rest).map(ReservedWhat::Unit).map_err(|why| why.to_string());
    }
    let (pieces, rest) = rest.split_once(':').filter(|_| kind == "pieces").ok_or_else(wrong)?;
    let (storeroom, model) = rest.split_once(':').ok_or_else(wrong)?;
    Ok(ReservedWhat::Pieces {
        model: PartNo::parse(model)?,
        storeroom: storeroom.to_owned(),
        pieces: pieces.parse().map_err(|_| wrong())?,
    })
}

/// A site's own rule is marked, so that its name says the same when a later program has a rule of
/// that name, and when the site has taken it away.
fn write_rule(rule: &RuleOf) -> String {
    match rule {
        RuleOf::Ours(rule) => rule.name().to_owned(),
        RuleOf::Site(name) => format!("own:{name}"),
    }
}

fn read_rule(text: &str) -> Result<RuleOf, String> {
    match text.strip_prefix("own:") {
        Some(name) => Ok(RuleOf::Site(name.to_owned())),
        None => Rule::parse(text).map(RuleOf::Ours).ok_or_else(|| text.to_owned()),
    }
}
