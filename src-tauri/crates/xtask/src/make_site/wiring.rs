//! The loops of the made plant.

use super::catalogue::Signal;
use super::chance::Chance;
use super::plant::{AREAS, Cabinet, Slot};
use super::sheet::Sheet;

/// Writes `loops.csv`: of each channel `per_mille` in a thousand carries a loop.
pub fn loops(cabinets: &[Cabinet], per_mille: usize, chance: &mut Chance) -> Sheet {
    let mut sheet = Sheet::new(
        "loops.csv",
        "tag,slot,channel,service,on_loss,effect,clearance,in_safety_function,ui_v,ii_ma,pi_mw,\
         ci_nf,li_mh,cable_m,cable_nf",
    );
    let mut numbers = [0_u32; 8];
    for cabinet in cabinets {
        let area = &AREAS[cabinet.area];
        for slot in cabinet.rails.iter().flat_map(|rail| &rail.slots) {
            for channel in 1..=slot.model.channels {
                if slot.reserve || !chance.happens(per_mille) {
                    continue;
                }
                let Some((letters, quantity)) = tag(slot.model.signal, chance) else { break };
                numbers[cabinet.area] += 1;
                let tag = format!("{letters}-{}{:03}", area.hundreds, numbers[cabinet.area]);
                let thing = chance.one(area.things);
                let service = format!("{quantity}, {thing}");
                let safety = slot.criticality == "vital" && chance.happens(120);
                row(&mut sheet, slot, (&tag, channel), &service, safety, chance);
            }
        }
    }
    sheet
}

fn row(
    sheet: &mut Sheet,
    slot: &Slot,
    (tag, channel): (&str, u32),
    service: &str,
    safety: bool,
    chance: &mut Chance,
) {
    let on_loss = match (safety, slot.model.signal) {
        (true, _) => "Safety function acts",
        (_, Signal::AnalogueIn | Signal::Temperature) => {
            chance.one(&["Last value held, alarm", "Controller to manual, alarm", "Alarm only"])
        }
        (_, Signal::AnalogueOut) => {
            chance.one(&["Valve closes", "Valve stays", "Speed falls to minimum"])
        }
        (_, Signal::DigitalOut) => chance.one(&["Drive stops", "Valve closes"]),
        _ => chance.one(&["Alarm only", "Drive stops", "Sequence waits"]),
    };
    let safety = if safety { "yes" } else { "no" };
    let (effect, clearance) = effect_and_clearance(on_loss);
    let none = "";
    if slot.model.base == "intrinsically_safe" {
        // Figures of an ordinary transmitter and some cable; all within the module's entity.
        let cable = chance.between(20, 220);
        sheet.row(&[
            &tag,
            &slot.address,
            &channel,
            &service,
            &on_loss,
            &effect,
            &clearance,
            &safety,
            &30,
            &100,
            &750,
            &chance.between(1, 20),
            &0.02,
            &cable,
            &if channel == 1 { format!("{:.1}", cable as f64 * 0.11) } else { String::new() },
        ]);
    } else {
        sheet.row(&[
            &tag,
            &slot.address,
            &channel,
            &service,
            &on_loss,
            &effect,
            &clearance,
            &safety,
            &none,
            &none,
            &none,
            &none,
            &none,
            &none,
            &none,
        ]);
    }
}

/// What kind of thing happens and what operations do before; a few were never written down.
fn effect_and_clearance(on_loss: &str) -> (&'static str, &'static str) {
    match on_loss {
        "Safety function acts" | "Drive stops" => ("trip", "bypass"),
        "Last value held, alarm" => ("value_held", "manual"),
        "Controller to manual, alarm" => ("value_held", "announce"),
        "Alarm only" => ("alarm_only", "announce"),
        "Valve closes" => ("valve_closes", "manual"),
        "Valve stays" => ("valve_stays", "manual"),
        "Speed falls to minimum" => ("", "manual"),
        _ => ("", ""),
    }
}

/// Tag letters in the manner of ISA-5.1, and the quantity that they tell of.
fn tag(signal: Signal, chance: &mut Chance) -> Option<(&'static str, &'static str)> {
    let choices: &[(&str, &str)] = match signal {
        Signal::None => return None,
        Signal::AnalogueIn => &[
            ("PIT", "Pressure"),
            ("PDIT", "Pressure drop"),
            ("FIT", "Flow"),
            ("LIT", "Level"),
            ("AIT", "Conductivity"),
            ("AIT", "pH"),
            ("JIT", "Power"),
        ],
        Signal::AnalogueOut => {
            &[("FCV", "Flow valve"), ("PCV", "Pressure valve"), ("SC", "Speed set point")]
        }
        Signal::DigitalIn => &[
            ("ZSO", "Open limit"),
            ("ZSC", "Closed limit"),
            ("LSH", "High level"),
            ("PSL", "Low pressure"),
            ("YI", "Running"),
            ("XA", "Fault"),
            ("HS", "Local switch"),
        ],
        Signal::DigitalOut => &[("XY", "Start command"), ("SOV", "Solenoid valve"), ("YL", "Lamp")],
        Signal::Temperature => {
            &[("TIT", "Temperature"), ("TE", "Bearing temperature"), ("TE", "Winding temperature")]
        }
        Signal::Speed => &[("SI", "Speed"), ("VT", "Vibration")],
    };
    Some(*chance.one(choices))
}
