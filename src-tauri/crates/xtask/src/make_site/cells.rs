//! How the cells of the made plant were found when they were changed.

use super::catalogue::Model;
use super::chance::Chance;
use super::life::{Event, after, before, day};
use chrono::NaiveDate;

/// What a change says of the cell that came out; empty texts are empty cells.
#[derive(Clone)]
pub struct Found {
    pub word: &'static str,
    pub mv: Option<i64>,
    pub fitted_on: NaiveDate,
}

/// How long cells of a type last here, and the voltages at which they are found.
struct Lasting {
    shape: f64,
    scale_d: f64,
    good_mv: (i64, i64),
    weak_mv: (i64, i64),
    spent_mv: (i64, i64),
}

/// Invented, about as cells of these kinds behave.
fn lasting(cell: &str) -> Lasting {
    match cell {
        "MP-CEL2" => Lasting {
            shape: 5.0,
            scale_d: 1900.0,
            good_mv: (2930, 3060),
            weak_mv: (2580, 2760),
            spent_mv: (1480, 2140),
        },
        _ => Lasting {
            shape: 4.5,
            scale_d: 2700.0,
            good_mv: (3600, 3670),
            weak_mv: (3280, 3480),
            spent_mv: (1850, 2620),
        },
    }
}

impl Lasting {
    /// Days that one cell lasts, by the inverse of the Weibull distribution.
    fn draw_d(&self, chance: &mut Chance) -> i64 {
        let above = (chance.below(1_000_000) as f64 + 0.5) / 1e6;
        (self.scale_d * (-above.ln()).powf(1.0 / self.shape)) as i64
    }

    fn mv(&self, word: &str, chance: &mut Chance) -> Option<i64> {
        let (least, most) = match word {
            "good" => self.good_mv,
            "weak" => self.weak_mv,
            _ => self.spent_mv,
        };
        let measured = chance.between(least, most) / 10 * 10;
        chance.happens(700).then_some(measured)
    }
}

/// How a cell was found that was changed while it still kept the memory.
pub fn still_good(cell: &str, fitted_on: NaiveDate, on: NaiveDate, chance: &mut Chance) -> Found {
    let lasting = lasting(cell);
    let age_d = (on - fitted_on).num_days();
    let life_d = lasting.draw_d(chance).max(age_d);
    // A tenth of its life before the end a cell shows it.
    let word = if life_d * 9 < age_d * 10 { "weak" } else { "good" };
    Found { word, mv: lasting.mv(word, chance), fitted_on }
}

/// What the sheet in the cabinet's door says of cells from before the units of today: they were
/// changed after five to six and a half years, or when the lamp was lit, or too late.
pub fn old_records(slot: &str, model: &Model, until: NaiveDate, chance: &mut Chance) -> Vec<Event> {
    let Some(cell) = model.battery else { return Vec::new() };
    let lasting = lasting(cell);
    let mut events = Vec::new();
    let mut fitted_on = after(day(2013, 2, 1), chance.between(0, 600));
    loop {
        let planned_d = chance.between(1830, 2370);
        let life_d = lasting.draw_d(chance);
        let lamp = chance.happens(600);
        let (age_d, word, note) = if life_d > planned_d * 11 / 10 {
            (planned_d, "good", "Changed as planned")
        } else if life_d > planned_d {
            (planned_d, "weak", "Changed as planned")
        } else if lamp {
            (life_d * 9 / 10, "weak", "Lamp for a low battery lit")
        } else {
            (life_d, "spent", "Program lost when power went, loaded again")
        };
        let on = after(fitted_on, age_d);
        if on >= until {
            return events;
        }
        if word != "good" && age_d > 500 {
            let seen_on = before(on, chance.between(150, 380));
            let mut seen = Event::new(seen_on, "battery_seen", "Yearly round, lamp not lit");
            seen.model = cell;
            seen.slot = slot.to_owned();
            seen.found = Some(Found { word: "good", mv: None, fitted_on });
            events.push(seen);
        }
        let mut event = Event::new(on, "battery_changed", note);
        event.model = cell;
        event.slot = slot.to_owned();
        event.quantity = Some(model.cells());
        event.found = Some(Found { word, mv: lasting.mv(word, chance), fitted_on });
        events.push(event);
        fitted_on = on;
    }
}
