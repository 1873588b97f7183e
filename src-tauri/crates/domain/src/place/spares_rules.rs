use super::{Criticality, RulesRefusal, Site};

/// How a site plans its spares.
///
/// The values of [`SparesRules::ours`] are ours (ranges from memory, no source): a site that states
/// its own gets levels that fit it.
#[derive(Debug, Clone, PartialEq)]
pub struct SparesRules {
    /// The service that is wanted of each class.
    pub targets: ByClass<Target>,
    /// Cost of a place without a unit, cents an hour.
    pub missing_cost_cents_h: ByClass<i64>,
    /// Cost of one order besides the pieces, cents.
    pub order_cost_cents: i64,
    /// Cost of holding a piece for a year, per cent of its price.
    pub holding_pct_a: f64,
    /// Days between two looks at the stock; none: it is looked at after each withdrawal.
    pub review_d: Option<u32>,
    /// Where the first and the second class of the list by value end, per cent.
    pub abc_pct: [f64; 2],
    pub abc_by: AbcBy,
    /// Where the steady and the unsteady class of the list by demand end: coefficient of variation.
    pub xyz_cv: [f64; 2],
    /// Whether storerooms lend to each other.
    pub lateral: bool,
    /// Days that a loan between storerooms takes.
    pub lateral_d: u32,
    /// Years without a withdrawal after which stock counts as dead.
    pub dead_after_y: f64,
}

/// One value for each class of criticality.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ByClass<T> {
    pub vital: T,
    pub essential: T,
    pub desirable: T,
}

/// A wanted service: which measure, and how much of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Target {
    pub measure: Measure,
    pub value: f64,
}

/// Measures of service. They are not the same number for one stock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Measure {
    /// Probability that the lead time passes without a stock-out, 0 to below 1.
    NoStockOut,
    /// Share of the demands that are served at once, 0 to below 1.
    FillRate,
    /// Pieces owed on average at a moment, above 0.
    Backorders,
    /// Hours a year that places stand empty, above 0.
    DownTime,
}

/// Which share of the value decides about a line of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AbcBy {
    /// That of all lines before it.
    ShareBefore,
    /// That of all lines up to it and with it.
    ShareAfter,
}

impl<T> ByClass<T> {
    pub fn of(&self, class: Criticality) -> &T {
        match class {
            Criticality::Vital => &self.vital,
            Criticality::Essential => &self.essential,
            Criticality::Desirable => &self.desirable,
        }
    }
}

impl Measure {
    pub const ALL: [Self; 4] = [Self::NoStockOut, Self::FillRate, Self::Backorders, Self::DownTime];

    pub fn word(self) -> &'static str {
        match self {
            Self::NoStockOut => "no_stock_out",
            Self::FillRate => "fill_rate",
            Self::Backorders => "backorders",
            Self::DownTime => "down_time_h",
        }
    }

    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|measure| measure.word() == word)
    }
}

impl Site {
    /// The site's rules for spares; ours where it states none, with its wanted protection for what
    /// is vital.
    pub fn rules_of_spares(&self) -> SparesRules {
        self.spares_rules.clone().unwrap_or_else(|| SparesRules::ours(self.protection))
    }
}

impl SparesRules {
    /// Our rules, with a wanted probability of no stock-out for what is vital.
    pub fn ours(protection: f64) -> Self {
        let no_stock_out = |value| Target { measure: Measure::NoStockOut, value };
        Self {
            targets: ByClass {
                vital: no_stock_out(protection),
                essential: no_stock_out(0.95_f64.min(protection)),
                desirable: no_stock_out(0.90_f64.min(protection)),
            },
            missing_cost_cents_h: ByClass { vital: 50_000, essential: 5_000, desirable: 500 },
            order_cost_cents: 7_500,
            holding_pct_a: 15.0,
            review_d: None,
            abc_pct: [80.0, 95.0],
            abc_by: AbcBy::ShareBefore,
            xyz_cv: [0.5, 1.0],
            lateral: false,
            lateral_d: 2,
            dead_after_y: 3.0,
        }
    }

    /// Fails with the first rule under which nothing could be planned.
    pub fn check(&self) -> Result<(), RulesRefusal> {
        let refuse = |rule, value: String, to_do| Err(RulesRefusal { rule, value, to_do });
        for target in [self.targets.vital, self.targets.essential, self.targets.desirable] {
            target.check()?;
        }
        let costs = self.missing_cost_cents_h;
        for cents in [costs.vital, costs.essential, costs.desirable] {
            if cents < 0 {
                let to_do = "write a cost of 0 or more, in cents an hour";
                return refuse("missing_cost_cents_h", cents.to_string(), to_do);
            }
        }
        if self.order_cost_cents < 0 {
            let to_do = "write a cost of 0 or more, in cents";
            return refuse("order_cost_cents", self.order_cost_cents.to_string(), to_do);
        }
        if !(0.0..=1000.0).contains(&self.holding_pct_a) {
            let to_do = "write a share of the price a year of 0 to 1000 per cent";
            return refuse("holding_pct_a", self.holding_pct_a.to_string(), to_do);
        }
        if self.review_d == Some(0) {
            let to_do =
                "write days of 1 or more, or leave it out where each withdrawal is looked at";
            return refuse("review_d", "0".to_owned(), to_do);
        }
        let [first, second] = self.abc_pct;
        if !(first > 0.0 && first < second && second <= 100.0) {
            let to_do = "write two rising shares above 0 and up to 100 per cent, such as 80 and 95";
            return refuse("abc_pct", format!("{first} and {second}"), to_do);
        }
        let [steady, unsteady] = self.xyz_cv;
        if !(steady > 0.0 && steady < unsteady && unsteady.is_finite()) {
            let to_do = "write two rising numbers above 0, such as 0.5 and 1";
            return refuse("xyz_cv", format!("{steady} and {unsteady}"), to_do);
        }
        if !(self.dead_after_y > 0.0 && self.dead_after_y <= 100.0) {
            let to_do = "write years above 0, for instance 3";
            return refuse("dead_after_y", self.dead_after_y.to_string(), to_do);
        }
        Ok(())
    }
}

impl Target {
    /// Fails when no stock at all, or none that is finite, could reach it.
    pub fn check(&self) -> Result<(), RulesRefusal> {
        let (sound, to_do) = match self.measure {
            Measure::NoStockOut | Measure::FillRate => (
                (0.0..1.0).contains(&self.value),
                "write a share of 0 and more that is below 1, for instance 0.95: no stock reaches 1",
            ),
            Measure::Backorders | Measure::DownTime => (
                self.value > 0.0 && self.value.is_finite(),
                "write a number above 0: no finite stock reaches 0",
            ),
        };
        if sound {
            return Ok(());
        }
        let value = format!("{} {}", self.measure.word(), self.value);
        Err(RulesRefusal { rule: "targets", value, to_do })
    }
}
