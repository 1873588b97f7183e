use chrono::{NaiveDate, Weekday};

/// How a site plans the changes of its back-up batteries.
///
/// The costs and times of [`Default`] are ours (common practice, no source): a site that states
/// its own gets plans that fit it.
#[derive(Debug, Clone, PartialEq)]
pub struct BatteryRules {
    /// A battery is due when this share of such batteries would no longer cover the hold-up, 0 to 1.
    pub spent_chance: f64,
    /// Cost of one walk to a cabinet or area, cents.
    pub visit_cost_cents: i64,
    /// Cost of one change besides the cell itself, cents.
    pub change_cost_cents: i64,
    /// Cost of a memory that is lost, cents.
    pub loss_cost_cents: i64,
    /// Hours of work that the crew has on a day for battery changes.
    pub crew_h_per_day: f64,
    /// Minutes that each visit takes besides the changes.
    pub setup_min: u32,
    /// Days of the week on which visits are made.
    pub weekdays: Vec<Weekday>,
    /// Days on which no visits are made.
    pub closed: Vec<Closed>,
    /// Days from today in which a new plan keeps to the agreed one.
    pub agreed_d: u32,
    /// How far plans look, years.
    pub horizon_y: u32,
    pub group_by: GroupBy,
}

/// Days without visits, the first and the last among them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closed {
    pub from: NaiveDate,
    pub to: NaiveDate,
    pub reason: String,
}

/// What is visited at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum GroupBy {
    Cabinet,
    Area,
}

/// Which rule cannot be kept, and what to write instead.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{rule} is {value}")]
pub struct RulesRefusal {
    /// Name of the field.
    pub rule: &'static str,
    pub value: String,
    pub to_do: &'static str,
}

impl Default for BatteryRules {
    fn default() -> Self {
        use Weekday::{Fri, Mon, Thu, Tue, Wed};
        Self {
            spent_chance: 0.01,
            visit_cost_cents: 12_000,
            change_cost_cents: 3_000,
            loss_cost_cents: 500_000,
            crew_h_per_day: 6.0,
            setup_min: 30,
            weekdays: vec![Mon, Tue, Wed, Thu, Fri],
            closed: Vec::new(),
            agreed_d: 60,
            horizon_y: 5,
            group_by: GroupBy::Cabinet,
        }
    }
}

impl BatteryRules {
    /// Fails with the first rule under which nothing could be planned.
    pub fn check(&self) -> Result<(), RulesRefusal> {
        let refuse = |rule, value: String, to_do| Err(RulesRefusal { rule, value, to_do });
        if !(self.spent_chance > 0.0 && self.spent_chance <= 0.5) {
            let to_do = "write a probability above 0 and up to 0.5, for instance 0.01";
            return refuse("spent_chance", self.spent_chance.to_string(), to_do);
        }
        for (rule, cents) in [
            ("visit_cost_cents", self.visit_cost_cents),
            ("change_cost_cents", self.change_cost_cents),
            ("loss_cost_cents", self.loss_cost_cents),
        ] {
            if cents < 0 {
                return refuse(rule, cents.to_string(), "write a cost of 0 or more, in cents");
            }
        }
        if !(self.crew_h_per_day > 0.0 && self.crew_h_per_day <= 1000.0) {
            let to_do = "state how many hours of work the crew has on a day, above 0";
            return refuse("crew_h_per_day", self.crew_h_per_day.to_string(), to_do);
        }
        if self.weekdays.is_empty() {
            let to_do = "name at least one day of the week on which visits are made";
            return refuse("weekdays", "an empty list".to_owned(), to_do);
        }
        if let Some(closed) = self.closed.iter().find(|closed| closed.to < closed.from) {
            let value = format!("from {} to {}", closed.from, closed.to);
            return refuse("closed", value, "write the first day before the last one");
        }
        if !(1..=30).contains(&self.horizon_y) {
            return refuse("horizon_y", self.horizon_y.to_string(), "plan 1 to 30 years ahead");
        }
        Ok(())
    }

    /// Whether visits are made on a day.
    pub fn open_on(&self, day: NaiveDate) -> bool {
        use chrono::Datelike;
        let closed = |closed: &Closed| (closed.from..=closed.to).contains(&day);
        self.weekdays.contains(&day.weekday()) && !self.closed.iter().any(closed)
    }
}
