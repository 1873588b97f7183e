//! The back-up battery that sits in the spare: its age and its charge.

use super::super::{BatteryOutlook, Situation};
use super::{Said, fails, passes, unknown};

/// Asked only of models that take a battery.
pub(super) fn battery(s: &Situation<'_>) -> Option<Said> {
    let need = s.spare.model.battery.as_ref()?;
    let (Some(fitted), Some(outlook)) = (&s.spare.unit.battery, &s.spare.battery) else {
        return Some(fails(
            format!("no back-up battery is recorded in the spare; it takes a {}", need.model),
            "fit one and record it; without it the program is lost at the first power-off",
        ));
    };
    let age_y = (s.seat.today - fitted.fitted_on).num_days() as f64 / 365.25;
    let carries = format!(
        "the spare carries a {} fitted on {}, {age_y:.1} years ago",
        fitted.model, fitted.fitted_on
    );
    if fitted.model != need.model {
        return Some(fails(
            format!("{carries}; the catalogue wants a {}", need.model),
            "fit the right battery and record it",
        ));
    }
    let lamp = s.spare.unit.battery_seen.as_ref().filter(|seen| seen.low_lamp);
    if let Some(seen) = lamp {
        return Some(fails(
            format!("{carries}; its low-battery lamp was lit on {}", seen.at.date_naive()),
            "change the battery before you rely on the spare",
        ));
    }
    Some(match outlook {
        BatteryOutlook::Unknown(missing) => unknown(
            format!("{carries}; what is left in it cannot be told: {missing}"),
            "change the battery, or complete what is missing",
        ),
        BatteryOutlook::Known { due_on, remaining_mah, capacity_mah } => {
            let left =
                format!("{carries}; about {remaining_mah:.0} of {capacity_mah:.0} mAh are left");
            if *due_on <= s.seat.today {
                fails(
                    format!("{left}, and it was due on {due_on}"),
                    "change the battery before you rely on the spare",
                )
            } else {
                passes(format!("{left}, and it is due on {due_on}"))
            }
        }
    })
}
