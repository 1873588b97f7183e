//! What the catalogue says of failing, buying and repairing a model.

use super::Model;

/// Temperature that a failure rate is stated at where the catalogue names none, °C
/// (common practice, no source).
pub const FAILURE_RATE_AT_C: f64 = 40.0;

/// Activation energy of a failure rate where the catalogue names none, eV (a decision, no source).
pub const FAILURE_ACTIVATION_EV: f64 = 0.4;

/// Failures that a stated rate is worth where the catalogue says nothing.
///
/// Source: constrained non-informative prior, NUREG/CR-6823 (its gamma shape).
pub const FAILURE_RATE_WORTH: f64 = 0.5;

/// Parts of one kind in a model, each of which ends it by failing.
#[derive(Debug, Clone, PartialEq)]
pub struct PartsLine {
    pub title: String,
    pub count: u32,
    /// Failures of one such part in 1e9 h.
    pub fit: f64,
}

/// The price of one piece from a number of pieces on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PriceBreak {
    pub from: u32,
    pub price_cents: i64,
}

/// Which field of a model cannot be right, and what to write instead.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{field} is {value}")]
pub struct SupplyRefusal {
    /// Name of the field, as a pointer within the line of the catalogue.
    pub field: String,
    pub value: String,
    pub to_do: &'static str,
}

impl Model {
    /// How long it may lie before it is fitted, years, whether it is a battery or not.
    pub fn shelf_life(&self) -> Option<f64> {
        self.shelf_life_y.or_else(|| self.cell.as_ref()?.shelf_life_y)
    }

    /// Fails with the first statement about failing, buying or repairing that makes no sense.
    pub fn check_supply(&self) -> Result<(), SupplyRefusal> {
        self.check_rate()?;
        self.check_buying()?;
        let share = self.repair_yield_pct.map(|pct| (pct, (0.0..=100.0).contains(&pct)));
        refuse("repair_yield_pct", share, "write a share of 0 to 100 per cent")?;
        let price = self.repair_price_cents.map(|cents| (cents, cents >= 0));
        refuse("repair_price_cents", price, "write a price of 0 or more, in cents")?;
        let loops = [
            ("repair_yield_pct", self.repair_yield_pct.is_some()),
            ("repair_price_cents", self.repair_price_cents.is_some()),
        ];
        match loops.into_iter().find(|(_, stated)| *stated && !self.repairable) {
            Some((field, _)) => Err(SupplyRefusal {
                field: field.to_owned(),
                value: "stated for a model that is not repairable".to_owned(),
                to_do: "say that it is repairable, or leave it out",
            }),
            None => Ok(()),
        }
    }

    fn check_rate(&self) -> Result<(), SupplyRefusal> {
        let stated = [
            ("failure_rate_fit", self.failure_rate_fit.is_some()),
            ("mtbf_h", self.mtbf_h.is_some()),
            ("parts_count", !self.parts_count.is_empty()),
        ];
        if let Some((field, _)) = stated.into_iter().filter(|(_, is)| *is).nth(1) {
            return Err(SupplyRefusal {
                field: field.to_owned(),
                value: "a second statement of one failure rate".to_owned(),
                to_do: "state the rate once: failure_rate_fit, mtbf_h or parts_count",
            });
        }
        let rate = self.failure_rate_fit.map(|fit| (fit, fit.is_finite() && fit >= 0.0));
        refuse("failure_rate_fit", rate, "write failures in 1e9 h, 0 or more")?;
        let mtbf = self.mtbf_h.map(|h| (h, h.is_finite() && h > 0.0));
        refuse("mtbf_h", mtbf, "write hours above 0")?;
        for (at, line) in self.parts_count.iter().enumerate() {
            let fit = Some((line.fit, line.fit.is_finite() && line.fit >= 0.0));
            refuse(&format!("parts_count/{at}/fit"), fit, "write failures in 1e9 h, 0 or more")?;
            let count = Some((line.count, line.count > 0));
            refuse(
                &format!("parts_count/{at}/count"),
                count,
                "write how many there are, 1 or more",
            )?;
        }
        let at = self.failure_rate_at_c.map(|c| (c, (-60.0..=125.0).contains(&c)));
        refuse("failure_rate_at_c", at, "write a temperature of -60 to 125 °C")?;
        let energy = self.failure_activation_ev.map(|ev| (ev, (0.0..=3.0).contains(&ev)));
        refuse("failure_activation_ev", energy, "write it in electronvolts, 0 to 3")?;
        let worth = self.failure_rate_worth.map(|n| (n, n.is_finite() && n > 0.0 && n <= 1e6));
        refuse("failure_rate_worth", worth, "write a number of failures above 0, for instance 0.5")
    }

    fn check_buying(&self) -> Result<(), SupplyRefusal> {
        let spread = self.lead_time_spread_d.map(|d| (d, (0.0..=3650.0).contains(&d)));
        refuse("lead_time_spread_d", spread, "write a standard deviation of 0 to 3650 days")?;
        for (field, pieces) in [("pack_size", self.pack_size), ("min_order", self.min_order)] {
            refuse(field, pieces.map(|n| (n, n > 0)), "write pieces, 1 or more, or leave it out")?;
        }
        let life = self.shelf_life_y.map(|y| (y, y.is_finite() && y > 0.0));
        refuse("shelf_life_y", life, "write years above 0")?;
        let mut before = 1;
        for (at, step) in self.price_breaks.iter().enumerate() {
            let rising = Some((step.from, step.from > before));
            let to_do = "write the numbers of pieces rising, the first above 1";
            refuse(&format!("price_breaks/{at}/from"), rising, to_do)?;
            let price = Some((step.price_cents, step.price_cents >= 0));
            let to_do = "write a price of 0 or more, in cents";
            refuse(&format!("price_breaks/{at}/price_cents"), price, to_do)?;
            before = step.from;
        }
        Ok(())
    }
}

/// Refuses a value that is stated and not sound.
fn refuse(
    field: &str,
    stated: Option<(impl ToString, bool)>,
    to_do: &'static str,
) -> Result<(), SupplyRefusal> {
    match stated {
        Some((value, false)) => {
            Err(SupplyRefusal { field: field.to_owned(), value: value.to_string(), to_do })
        }
        _ => Ok(()),
    }
}
