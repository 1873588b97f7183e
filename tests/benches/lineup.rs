//! The rules of a line-up over a plant of 50,000 units, beside a plain program.
//!
//! The peer is ours and general: five of the questions (width, current, terminators, keys,
//! addresses) asked of flat tables, each by one pass over the table for each rail, as a query
//! without an index would. It looks at `SLOTKEEP_BENCH_RAILS` rails (300), and is reckoned up to
//! all of them; ours answers every rule for every rail. `SLOTKEEP_BENCH_UNITS` makes the plant
//! smaller. Twenty rules of the site's own are judged beside the run without them.

use serde_json::{Value, json};
use slotkeep_api::{Api, Caller, Payload};
use slotkeep_domain::lineup::{Cabinet, Keyed, Known, check, describe, keyed};
use slotkeep_domain::model::{Model, PartNo};
use slotkeep_domain::place::{self, CabinetAddress, Slot, SlotAddress};
use slotkeep_domain::register::View;
use slotkeep_domain::rules::Severity;
use slotkeep_domain::rules::own::{
    Condition, Judges, OwnRule, Test, Value as Wanted, check as refused,
};
use slotkeep_store::{Store, StoreFault};
use slotkeep_tests::measure::{ms, number, timed};
use slotkeep_xtask::make_site::{Size, files};
use std::collections::HashMap;
use std::sync::Arc;
use std::time::Duration;

/// The allocator of the programs.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    let units = number("SLOTKEEP_BENCH_UNITS", 50_000) as usize;
    let folder = tempfile::tempdir().expect("a folder for the plant");
    let api = Api::new(Store::open(&folder.path().join("site.sqlite")).expect("a new store"));
    // Nine of ten units of a made plant stand in slots.
    let made = files(&Size::units(units * 10 / 9, 0), 7);
    let made = made.iter().filter(|(name, _)| *name != "history.csv");
    let made: Vec<Value> = made.map(|(name, text)| json!({ "name": name, "text": text })).collect();
    ask(&api, "site.import", json!({ "files": made }));

    let (reading, plant) = timed(|| Plant::read(api.store()).expect("the plant is read"));
    let (describing, cabinets) = timed(|| plant.cabinets());
    let (judging, found) = timed(|| {
        let each =
            cabinets.iter().map(|cabinet| check(cabinet, &plant.site.rules, &plant.site.own_rules));
        each.flatten().collect::<Vec<_>>()
    });
    let of = |severity| found.iter().filter(|finding| finding.severity == severity).count();
    let rails = cabinets.iter().map(|cabinet| cabinet.rails.len()).sum::<usize>();
    println!(
        "{} units on {rails} rails: {} findings ({} stops, {} cautions, {} notes)",
        plant.standing.len(),
        found.len(),
        of(Severity::Stop),
        of(Severity::Caution),
        of(Severity::Note)
    );
    println!(
        "  read from the store {:.0} ms, described {:.0} ms, judged {:.0} ms: {:.0} ms in all",
        ms(reading),
        ms(describing),
        ms(judging),
        ms(reading + describing + judging)
    );
    let (asking, ()) = timed(|| {
        for cabinet in &plant.places {
            let address = cabinet.address.to_string();
            ask(&api, "lineup.check", json!({ "address": address }));
        }
    });
    println!(
        "  through the table of commands, a cabinet at a time: {:.0} ms, {:.2} ms each",
        ms(asking),
        ms(asking) / plant.places.len() as f64
    );
    with_own_rules(&plant, &cabinets, judging);
    beside_the_peer(&plant, rails, describing + judging);
}

/// The same with rules of the site's own, beside the run with those of the made plant.
fn with_own_rules(plant: &Plant, cabinets: &[Cabinet], without: Duration) {
    let own = own_rules();
    assert_eq!(refused(&own), [], "the rules can be kept");
    let (took, found) = timed(|| {
        let each = cabinets.iter().map(|cabinet| check(cabinet, &plant.site.rules, &own));
        each.flatten().filter(|finding| finding.own).count()
    });
    println!(
        "  judged with {} own rules {:.0} ms ({found} findings of theirs): {:.2} times as long as \
         with the {} of the made plant",
        own.len(),
        ms(took),
        took.as_secs_f64() / without.as_secs_f64(),
        plant.site.own_rules.len()
    );
}

/// Twenty rules with two conditions to apply and two that must hold, over facts of every kind.
fn own_rules() -> Vec<OwnRule> {
    let is = |fact: &str, test: Test| Condition { fact: fact.to_owned(), test };
    let text = |text: &str| Wanted::Text(text.to_owned());
    let words = |words: &[&str]| Test::OneOf(words.iter().map(|word| text(word)).collect());
    let musts = [
        is("model_heat_w", Test::AtMost(Wanted::Number(6.0))),
        is("model_current_24v_ma", Test::AtMost(Wanted::Number(400.0))),
        is("model_lifecycle", Test::Is(text("active"))),
        is("slot_bus_address", Test::IsKnown),
        is("slot_model_wanted", Test::StartsWith("MP-".to_owned())),
        is("model_repairable", Test::Is(Wanted::Flag(true))),
        is("model_max_ambient_c", Test::AtLeast(Wanted::Number(50.0))),
        is("item_left_mm", Test::AtMost(Wanted::Number(650.0))),
        is("slot_base", words(&["compact", "extended", "own", "one_piece"])),
        is("model_inrush_ma", Test::AtMost(Wanted::Number(900.0))),
    ];
    let own = (0..20).map(|number| OwnRule {
        name: format!("own-{number}"),
        asks: "A rule made to be measured.".to_owned(),
        on: true,
        severity: Severity::Note,
        unknown: Severity::Note,
        to_do: "nothing".to_owned(),
        judges: Judges::Item,
        applies: vec![
            is("item_kind", Test::Is(text("slot"))),
            is("slot_criticality", words(&["vital", "essential"])),
        ],
        must: vec![
            musts[number % musts.len()].clone(),
            musts[(number + 1 + number / musts.len()) % musts.len()].clone(),
        ],
    });
    own.collect()
}

fn ask(api: &Api, name: &str, input: Value) {
    let caller = Caller::owner("bench", "bench");
    let now = chrono::Utc::now();
    api.call(name, Payload::Json(input), &caller, now, &mut |_: &str, _, _| {})
        .unwrap_or_else(|failure| panic!("{name}: {failure:?}"));
}

/// Everything that the rules look at, as the store has it.
struct Plant {
    site: place::Site,
    models: HashMap<PartNo, Arc<Model>>,
    keyed: Arc<Keyed>,
    places: Vec<place::Cabinet>,
    rails: Vec<place::Rail>,
    slots: Vec<Slot>,
    standing: HashMap<SlotAddress, PartNo>,
}

impl Plant {
    fn read(store: &Store) -> Result<Self, StoreFault> {
        store.read(|r| {
            let site = r.site().expect("the site is set");
            let models = r.models()?;
            let units = r.units()?.into_iter();
            Ok(Self {
                site,
                keyed: Arc::new(keyed(&models)),
                models: models.into_iter().map(|m| (m.part_no.clone(), Arc::new(m))).collect(),
                places: r.cabinets()?,
                rails: r.rails()?,
                slots: r.slots()?,
                standing: units
                    .filter_map(|unit| unit.place.slot().cloned().map(|slot| (slot, unit.model)))
                    .collect(),
            })
        })
    }

    fn cabinets(&self) -> Vec<Cabinet> {
        let mut rails: HashMap<CabinetAddress, Vec<place::Rail>> = HashMap::new();
        for rail in &self.rails {
            rails.entry(rail.address.cabinet()).or_default().push(rail.clone());
        }
        let mut slots: HashMap<CabinetAddress, Vec<Slot>> = HashMap::new();
        for slot in &self.slots {
            slots.entry(slot.address.cabinet()).or_default().push(slot.clone());
        }
        let described = self.places.iter().map(|cabinet| {
            let rails = rails.get(&cabinet.address).map_or(&[][..], Vec::as_slice);
            let slots = slots.get(&cabinet.address).map_or(&[][..], Vec::as_slice);
            describe(&self.site, cabinet, rails, slots, self.keyed.clone(), self)
        });
        described.collect()
    }
}

impl Known for Plant {
    fn model(&self, part_no: &PartNo) -> Option<Arc<Model>> {
        self.models.get(part_no).cloned()
    }

    fn standing(&self, slot: &SlotAddress) -> Option<PartNo> {
        self.standing.get(slot).cloned()
    }
}

/// One row of the peer's flat table.
struct Row {
    rail: String,
    width_mm: f64,
    current_ma: f64,
    terminator: bool,
    keys_differ: bool,
    bus_address: Option<u32>,
}

fn beside_the_peer(plant: &Plant, rails: usize, ours: Duration) {
    let looked = (number("SLOTKEEP_BENCH_RAILS", 300) as usize).min(rails);
    if looked == 0 {
        return;
    }
    let rows = rows(plant);
    let names: Vec<String> =
        plant.rails.iter().take(looked).map(|rail| rail.address.to_string()).collect();
    let (took, odd) = timed(|| names.iter().filter(|rail| peer(&rows, rail)).count());
    let all = took.mul_f64(rails as f64 / looked as f64);
    println!(
        "  peer: five questions over {} rows, {looked} rails in {:.0} ms ({odd} odd), {:.0} ms for \
         all; ours answers 21 rules for all {:.1} times as fast",
        rows.len(),
        ms(took),
        ms(all),
        all.as_secs_f64() / ours.as_secs_f64()
    );
}

fn rows(plant: &Plant) -> Vec<Row> {
    let slots = plant.slots.iter().map(|slot| {
        let model = plant.standing.get(&slot.address).or(slot.model_wanted.as_ref());
        let model = model.and_then(|part_no| plant.models.get(part_no));
        Row {
            rail: slot.address.rail().to_string(),
            width_mm: model.map_or(0.0, |model| model.width_mm),
            current_ma: model.and_then(|model| model.current_24v_ma).unwrap_or(0.0),
            terminator: false,
            keys_differ: model.is_some_and(|model| model.key != slot.key),
            bus_address: slot.bus_address,
        }
    });
    let items = plant.rails.iter().flat_map(|rail| {
        rail.items.iter().map(|item| Row {
            rail: rail.address.to_string(),
            width_mm: item.width_mm,
            current_ma: 0.0,
            terminator: item.kind == place::RailItemKind::Terminator,
            keys_differ: false,
            bus_address: None,
        })
    });
    slots.chain(items).collect()
}

/// Whether one of five questions finds something odd on a rail.
fn peer(rows: &[Row], rail: &str) -> bool {
    let on = || rows.iter().filter(|row| row.rail == rail);
    let width_mm: f64 = on().map(|row| row.width_mm).sum();
    let current_ma: f64 = on().map(|row| row.current_ma).sum();
    let terminators = on().filter(|row| row.terminator).count();
    let keys = on().filter(|row| row.keys_differ).count();
    let mut addresses: Vec<_> = on().filter_map(|row| row.bus_address).collect();
    addresses.sort_unstable();
    let twice = addresses.windows(2).any(|pair| pair[0] == pair[1]);
    width_mm > 700.0 || current_ma > 5000.0 || terminators != 2 || keys > 0 || twice
}
