use super::super::{DemandRefusal, LARGEST_MEAN, Pattern, Pmf, demand_measures, pattern};
use super::ahead::Months;
use super::calibration::Calibration;
use super::history::History;
use super::method::Method;
use super::mixture::{Mixture, heavy};
use super::parts::{Kind, kinds};
use super::states::{Kin, State};
use std::sync::Arc;

/// What one method did in the tests of one item.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MethodTest {
    pub method: Method,
    /// Its weight in the blend, 0 to 1.
    pub weight: f64,
    /// Mean demand of a month that it foresees now.
    pub month: f64,
    /// Of the demand over the horizon, in the mean of the tests: what was foreseen less what came,
    /// and the root of the mean squared error; pieces.
    pub bias: f64,
    pub error: f64,
    /// Mean of -ln of the chance that it gave to what came. The blend goes by this.
    pub surprise: f64,
}

/// Demand to come of one item, with how it was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// Mean interval between demands and squared coefficient of variation of their sizes, with the
    /// pattern that follows; none where nothing was ever asked for.
    pub measures: Option<(f64, f64, Pattern)>,
    /// What each method did in the tests, the heaviest of the blend first. Without a test the
    /// errors are none (0), and the weights those before anything is known.
    pub methods: Vec<MethodTest>,
    /// Tests on this item, months that each was over, and other items that lent their past.
    pub tests: usize,
    pub horizon: usize,
    pub others: usize,
    /// The method that a person chose in place of the blend, and why.
    pub chosen: Option<(Method, String)>,
    blend: Blend,
    state: State,
    kin: Kin,
}

/// Parts, what each weighs, and how their chances turn out.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Blend {
    /// The same list for all items.
    pub kinds: Arc<[Kind]>,
    pub weights: Vec<f64>,
    /// What means and variances are multiplied with.
    pub drift: (f64, f64),
    pub calibration: Calibration,
}

/// Why a person's choice does not stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ChoiceRefusal {
    #[error("the choice of a method has no reason: say in a few words why the blend is not used")]
    NoReason,
}

/// Parts of a blend that weigh less than this are left out of its distribution.
const LIGHT: f64 = 1e-4;

impl Outlook {
    pub(super) fn blended(
        blend: Blend,
        history: &History,
        state: State,
        kin: Kin,
        methods: Vec<MethodTest>,
    ) -> Self {
        let measures = demand_measures(history.demands());
        let measures = measures.map(|(adi, cv2)| (adi, cv2, pattern(adi, cv2)));
        let (tests, horizon, others) = (0, 1, 0);
        Self { measures, methods, tests, horizon, others, chosen: None, blend, state, kin }
    }

    pub(super) fn after(mut self, tests: usize, horizon: usize, others: usize) -> Self {
        (self.tests, self.horizon, self.others) = (tests, horizon, others);
        self.methods.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        self
    }

    /// Takes a person's choice of a method in place of the blend, with its reason.
    ///
    /// The method's spread is that of the blend's parts of this method; its chances are not moved
    /// by how the blend's turned out.
    ///
    /// Fails where the reason is empty.
    pub fn by(&self, method: Method, reason: &str) -> Result<Self, ChoiceRefusal> {
        let reason = reason.trim();
        if reason.is_empty() {
            return Err(ChoiceRefusal::NoReason);
        }
        let known: Vec<(Kind, f64)> = self
            .blend
            .kinds
            .iter()
            .copied()
            .zip(self.blend.weights.iter().copied())
            .filter(|(kind, _)| kind.method == method)
            .collect();
        let parts = if known.is_empty() {
            kinds(&[method]).into_iter().map(|kind| (kind, kind.share)).collect()
        } else {
            known
        };
        let whole: f64 = parts.iter().map(|(_, weight)| weight).sum();
        let kinds = parts.iter().map(|(kind, _)| *kind).collect();
        let weights = parts.iter().map(|(_, weight)| weight / whole).collect();
        let blend =
            Blend { kinds, weights, drift: (1.0, 1.0), calibration: Calibration::as_stated() };
        Ok(Self { chosen: Some((method, reason.to_owned())), blend, ..self.clone() })
    }

    /// Demand over so many months from now, such as a lead time.
    ///
    /// The chances were tested over [`Self::horizon`] months; over others they follow from the same
    /// parts. Parts of a piece count as a whole one.
    ///
    /// Fails with [`DemandRefusal::Months`] unless 0 <= months <= 1200, and with
    /// [`DemandRefusal::Mean`] where more than [`LARGEST_MEAN`] pieces are expected.
    pub fn over(&self, months: f64) -> Result<Pmf, DemandRefusal> {
        if !(0.0..=1200.0).contains(&months) {
            return Err(DemandRefusal::Months(months));
        }
        if months == 0.0 {
            return Ok(Pmf::certain(0));
        }
        let Blend { kinds, weights, drift, .. } = &self.blend;
        let ahead = self.state.foresee(&self.kin, &Months::of(months)).drifted(*drift);
        let mixture = Mixture::of(&ahead, &heavy(kinds, weights, LIGHT));
        let most = mixture.largest_mean();
        if most > LARGEST_MEAN {
            return Err(DemandRefusal::Mean(most));
        }
        let mut chances = mixture.list();
        self.blend.calibration.apply(&mut chances);
        Pmf::of(chances)
    }

    /// Says in one sentence what the demand is foreseen by, and why.
    pub fn reason(&self) -> String {
        if let Some((method, reason)) = &self.chosen {
            return format!(
                "By choice: {} in place of the blend of methods, because {}.",
                method.title(),
                reason.trim_end_matches('.')
            );
        }
        let pattern = match self.measures {
            None => "Nothing was ever asked for".to_owned(),
            Some((adi, cv2, pattern)) => {
                format!("{} demand (every {adi:.1} months, CV² {cv2:.2})", pattern.title())
            }
        };
        let mut shares = Vec::new();
        let mut named = 0.0;
        for tested in self.methods.iter().take(4) {
            if named < 0.8 && tested.weight > 0.02 {
                let pct = 100.0 * tested.weight;
                shares.push(format!("{} {pct:.0} %", tested.method.title()));
                named += tested.weight;
            }
        }
        let rest = if named < 0.98 { ", the rest by others" } else { "" };
        let why = match (self.tests, self.others) {
            (0, 0) => "with the weights that stand before any test, as the history is too short \
                       for one"
                .to_owned(),
            (0, others) => format!("as weighed on {others} other items, as this one is too short"),
            (tests, others) => format!(
                "weighed by the chance they gave to what came in {tests} tests over {} months{}",
                self.horizon,
                if others > 0 { format!(", and on {others} other items") } else { String::new() }
            ),
        };
        format!("{pattern}: {}{rest}; {why}.", shares.join(", "))
    }
}
