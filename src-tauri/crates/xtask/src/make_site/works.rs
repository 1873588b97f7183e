//! What the stores of the sample plant have lived through and what is to come: old stays in slots,
//! months of hand-outs, orders, reservations and planned changes.

use super::catalogue::model;
use super::chance::Chance;
use super::life::{Event, Life, after, before, day, today};
use super::plant::Cabinet;
use super::sheet::{Sheet, maybe};
use super::supply::{CONSUMABLES, Use};
use chrono::{Datelike, NaiveDate};

/// Sets the chance of the stores apart from that of the plant.
const WORKS: u64 = 0x5707;

/// Months of hand-outs that the stores kept before the register.
const MONTHS: u32 = 54;

/// Adds what the stores remember.
pub fn remember(life: &mut Life, cabinets: &[Cabinet], seed: u64) {
    let chance = &mut Chance::new(seed ^ WORKS);
    old_stays(life, cabinets, chance);
    for consumable in CONSUMABLES {
        let from = consumable.bin;
        used(life, consumable.part_no, consumable.use_, from, chance);
        let mut came = Event::new(before(today(), 51), "received", format!("Into {from}"));
        came.model = consumable.part_no;
        came.lot = consumable.lot.to_owned();
        came.quantity = Some(50);
        life.events.push(came.clone());
        if consumable.part_no == "MP-FU2A" {
            // Booked once by each of two people, as a stocktake will find.
            came.on = after(came.on, 2);
            came.note = format!("Into {from}, delivery note 26-0931");
            life.events.push(came);
        }
    }
    let terminators = Use::Intermittent { per_mille: 300, most: 3 };
    used(life, "MP-TRM1", terminators, "ST1/C-03", chance);
}

/// Hand-outs of one thing, month by month up to this one.
fn used(life: &mut Life, part_no: &'static str, how: Use, bin: &str, chance: &mut Chance) {
    let now = today();
    for back in (0..MONTHS).rev() {
        let month = now.year() * 12 + now.month0() as i32 - back as i32;
        let first = day(month.div_euclid(12), month.rem_euclid(12) as u32 + 1, 1);
        let mut left = pieces(how, chance);
        while left > 0 {
            let some = if left > 6 { left - left / 3 } else { left };
            left -= some;
            let on = after(first, chance.between(0, 27)).min(now);
            let mut event = Event::new(on, "issued", format!("Out of {bin}, for works"));
            event.model = part_no;
            event.quantity = Some(some as u32);
            life.events.push(event);
        }
    }
}

fn pieces(how: Use, chance: &mut Chance) -> i64 {
    match how {
        Use::Smooth { mean, about } => mean + chance.between(-about, about),
        Use::Intermittent { per_mille, most } if chance.happens(per_mille) => {
            chance.between(1, most)
        }
        Use::Lumpy { per_mille, few, many } if chance.happens(per_mille) => {
            if chance.happens(300) {
                chance.between(many / 2, many)
            } else {
                chance.between(few, 4)
            }
        }
        Use::Erratic { few, many } => {
            if chance.happens(200) {
                chance.between(many / 2, many)
            } else {
                chance.between(few, 5)
            }
        }
        Use::Intermittent { .. } | Use::Lumpy { .. } => 0,
    }
}

/// Stays in the cabinets as they were before they were rebuilt in 2019: one model that wears out,
/// one that fails far more often than its catalogue says, one that is taken out without a fault.
fn old_stays(life: &mut Life, cabinets: &[Cabinet], chance: &mut Chance) {
    let worn: [(i64, i64); 14] = [
        (3012, 0),
        (2760, 40),
        (3391, 75),
        (2544, 130),
        (3120, 171),
        (2871, 233),
        (3655, 260),
        (2230, 311),
        (3288, 402),
        (2975, 455),
        (3502, 520),
        (2690, 610),
        (3190, 700),
        (2410, 800),
    ];
    let slots = slots_of(cabinets, "MP-DO08R-C");
    for (at, (age_d, before_end)) in worn.into_iter().enumerate() {
        let on = before(day(2019, 1, 20), before_end);
        let mut event = came_out("failure", "MP-DO08R-C", &slots, at, before(on, age_d), on);
        event.failure = Some(("no_output", "ageing", "alarm"));
        event.note = "Relay contacts worn".to_owned();
        life.events.push(event);
    }
    let slots = slots_of(cabinets, "MP-FI04-C");
    for at in 0..9 {
        let on = before(day(2019, 1, 10), 60 + at as i64 * 95);
        let fitted = before(on, chance.between(210, 900));
        let mut event = came_out("failure", "MP-FI04-C", &slots, at, fitted, on);
        event.failure = Some(("erratic", "moisture", "operation"));
        event.note = "Counts jump, salt on the board".to_owned();
        life.events.push(event);
    }
    let slots = slots_of(cabinets, "MP-RT08-C");
    for at in 0..6 {
        let on = before(day(2018, 12, 1), 30 + at as i64 * 160);
        let fitted = before(on, chance.between(900, 2400));
        let mut event = came_out("no_fault_found", "MP-RT08-C", &slots, at, fitted, on);
        event.note = "Readings off; the sensor was at fault".to_owned();
        life.events.push(event);
    }
}

fn came_out(
    what: &'static str,
    part_no: &'static str,
    slots: &[String],
    at: usize,
    fitted_on: NaiveDate,
    on: NaiveDate,
) -> Event {
    let mut event = Event::new(on, what, "");
    event.model = part_no;
    event.slot = slots.get(at % slots.len().max(1)).cloned().unwrap_or_default();
    event.fitted_on = Some(fitted_on);
    event
}

fn slots_of(cabinets: &[Cabinet], part_no: &str) -> Vec<String> {
    let slots = cabinets.iter().flat_map(|cabinet| &cabinet.rails).flat_map(|rail| &rail.slots);
    let of_model = slots.filter(|slot| slot.model.part_no == model(part_no).part_no);
    of_model.map(|slot| slot.address.clone()).collect()
}

pub fn orders() -> Sheet {
    let mut sheet = Sheet::new(
        "orders.csv",
        "number,model,storeroom,quantity,placed_on,due_on,price_cents,reason",
    );
    let now = today();
    let rows = [
        ("26-118", "MP-AO08-C", "ST1", 2, 155, -9, 86500, "Below the level after two failures"),
        ("26-124", "MP-RT08-C", "ST1", 2, 60, 86, 64000, "Below the level"),
        ("26-131", "MP-FU2A", "ST1", 100, 12, 12, 80, "Every quarter"),
        ("26-133", "MP-PS10", "ST2", 1, 20, 125, 41900, "For the power building"),
        ("26-134", "MP-GSK16", "ST1", 50, 9, 27, 160, "Used up by the pump works"),
    ];
    for (number, model, storeroom, quantity, ago, due, price, reason) in rows {
        let placed = before(now, ago);
        let due_on = if due < 0 { before(now, -due) } else { after(now, due) };
        sheet.row(&[&number, &model, &storeroom, &quantity, &placed, &due_on, &price, &reason]);
    }
    sheet
}

pub fn reservations(life: &Life) -> Sheet {
    let mut sheet = Sheet::new("reservations.csv", "model,storeroom,serial,pieces,for_what,until");
    let now = today();
    let row = |sheet: &mut Sheet, model: &str, serial: &str, pieces: &str, what: &str, until| {
        sheet.row(&[&model, &"ST1", &serial, &pieces, &what, &maybe(until)]);
    };
    row(&mut sheet, "MP-TRM1", "", "4", "Third membrane train", Some(after(now, 126)));
    row(&mut sheet, "MP-FER075", "", "12", "Pump works, cabinet +K13", Some(after(now, 23)));
    let lies_ready = |unit: &&super::life::Unit| {
        unit.model.part_no == "MP-AO04-C"
            && unit.condition == "good"
            && unit.place.starts_with("ST1")
    };
    if let Some(unit) = life.units.iter().find(lies_ready) {
        let what = "Limestone dosing, valve check in December";
        row(&mut sheet, "MP-AO04-C", &unit.serial, "", what, Some(after(now, 30)));
    }
    sheet
}

pub fn planned_changes() -> Sheet {
    let mut sheet =
        Sheet::new("planned_changes.csv", "model,on,added,removed,from_stock,harvested,reason");
    let train = day(2027, 5, 10);
    let rebuilt = day(2028, 3, 15);
    let rows = [
        ("MP-AI08-C", train, 6, 0, 0, 0, "Third membrane train"),
        ("MP-DI16-C", train, 4, 0, 0, 0, "Third membrane train"),
        ("MP-FER075", train, 0, 0, 25, 0, "Third membrane train, wiring"),
        ("MP-TRM1", train, 2, 0, 2, 0, "Third membrane train"),
        ("MP-TC08-C", rebuilt, 0, 5, 0, 4, "Limestone bed 1 rebuilt with the second series"),
        ("MP-TC08-C", day(2030, 3, 20), 0, 6, 0, 3, "Limestone bed 2 rebuilt"),
    ];
    for (model, on, added, removed, from_stock, harvested, reason) in rows {
        let shown = |n: u32| if n == 0 { String::new() } else { n.to_string() };
        let (added, removed) = (shown(added), shown(removed));
        let (from_stock, harvested) = (shown(from_stock), shown(harvested));
        sheet.row(&[&model, &on, &added, &removed, &from_stock, &harvested, &reason]);
    }
    sheet
}
