//! The one cabinet of which two rails were joined: the second hangs on the bus and on the power
//! supplies of the first.
//!
//! The power supply of the second rail went beside that of the first, as its redundant partner. It
//! is too small for that, on purpose: the check of line-ups is to find it.

use super::catalogue::model;
use super::life::{Event, Life, day};
use super::plant::{Cabinet, Item, Rail, Slot};

/// The cabinet, in the order in which they are made.
const JOINED: usize = 7;

/// Joins the rails and moves what stood between them; no draw of chance depends on it.
pub fn join(cabinets: &mut [Cabinet], life: &mut Life) {
    let rails = cabinets.get_mut(JOINED).map(|cabinet| cabinet.rails.as_mut_slice());
    let Some([first, second, ..]) = rails else { return };
    if second.slots.len() < 3 || first.slots.len() < 2 {
        return;
    }
    let moved: Vec<_> = second.slots.drain(..2).map(|slot| slot.address).collect();
    let more = extend(first, second);
    begin(second, first);
    units(life, &moved, &more);
}

/// Takes the right terminator off and puts the second supply behind the units; returns its slot.
fn extend(first: &mut Rail, second: &Rail) -> String {
    let right = first.items.iter().rposition(|item| item.kind == "terminator").unwrap_or(0);
    let mut x_mm = first.items[right].x_mm;
    let supply = model("MP-PS03");
    let [blank, support] = [("blank", "MP-BLK24", 24.0), ("end_support", "MP-ENS1", 8.0)];
    let item = |x_mm, (kind, model, width_mm)| Item { x_mm, width_mm, kind, model };
    first.items.truncate(right);
    first.items.push(item(x_mm, blank));
    x_mm += blank.2;
    let address = format!("{}.{:02}", first.address, first.slots.len() + 1);
    if let Some(last) = first.slots.last_mut() {
        last.bus = "inner";
    }
    first.slots[0].partner = Some(address.clone());
    let partner = Some(first.slots[0].address.clone());
    first.slots.push(Slot {
        address: address.clone(),
        x_mm,
        model: supply,
        bus: "none",
        partner,
        criticality: "essential",
        reserve: false,
    });
    first.items.push(item(x_mm + supply.width_mm, support));
    first.links.supply_redundant = "yes";
    first.links.bus_right = second.address.clone();
    address
}

/// Lets the second rail begin with what stood behind its head.
fn begin(second: &mut Rail, first: &Rail) {
    let Some(left_mm) = second.slots.first().map(|slot| slot.x_mm) else { return };
    second.items.retain(|item| item.x_mm > left_mm);
    let support =
        Item { x_mm: left_mm - 8.0, width_mm: 8.0, kind: "end_support", model: "MP-ENS1" };
    second.items.insert(0, support);
    second.links.fed_by = first.address.clone();
    second.links.bus_left = first.address.clone();
}

/// What stood in the slots that are gone: the supply in its new slot, the bus coupler on the shelf.
fn units(life: &mut Life, moved: &[String], into: &str) {
    let on = day(2026, 4, 12);
    for (from, to) in moved.iter().zip([into, "ST1/B-03"]) {
        for event in life.events.iter_mut().filter(|event| event.slot == *from) {
            event.slot.clear();
        }
        let Some(unit) = life.units.iter_mut().find(|unit| unit.place == *from) else { continue };
        unit.place = to.to_owned();
        unit.installed_on = Some(on);
        let mut event = Event::new(on, "removed", format!("Rails joined, out of {from}"));
        event.serial = unit.serial.clone();
        event.model = unit.model.part_no;
        life.events.push(event.clone());
        if to == into {
            event.what = "installed";
            event.slot = to.to_owned();
            event.note = "As second supply".to_owned();
            life.events.push(event);
        }
    }
}
