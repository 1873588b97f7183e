use super::ahead::{Ahead, Months};
use super::blend::{MOMENTS, Weights, Window, moment, weights};
use super::calibration::Calibration;
use super::drift::{Drift, Foreseen};
use super::history::History;
use super::method::{COUNT, Method};
use super::mixture::{Mixture, heavy};
use super::outlook::{Blend, MethodTest, Outlook};
use super::parts::{Kind, kinds};
use super::states::{Kin, Seen, State, kin, states};
use crate::in_parallel;
use std::sync::Arc;

/// How histories are tested.
#[derive(Debug, Clone, PartialEq)]
pub struct ForecastRules {
    /// Months that a forecast is tested over, such as the lead time; 1 to 120.
    pub horizon: usize,
    /// Methods that may be blended.
    pub methods: Vec<Method>,
    /// Moments of the past to test from, and months between them.
    pub windows: usize,
    pub step: usize,
    /// Months of a season.
    pub season: usize,
}

/// Why nothing can be tested by some rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RulesRefusal {
    #[error("the horizon is {0} months: give 1 to 120")]
    Horizon(usize),
    #[error("the tests lie {0} months apart: give 1 to 120")]
    Step(usize),
    #[error("the season has {0} months: give 1 to 120, 12 for a year")]
    Season(usize),
    #[error("no method is named: name at least one, or leave the choice to all of them")]
    Methods,
}

impl ForecastRules {
    /// Every method, tested from five moments three months apart, and a season of twelve months.
    pub fn over(horizon: usize) -> Self {
        Self { horizon, methods: Method::ALL.to_vec(), windows: 5, step: 3, season: 12 }
    }

    fn check(&self) -> Result<(), RulesRefusal> {
        let sound = |months: usize| (1..=120).contains(&months);
        match () {
            () if !sound(self.horizon) => Err(RulesRefusal::Horizon(self.horizon)),
            () if !sound(self.step) => Err(RulesRefusal::Step(self.step)),
            () if !sound(self.season) => Err(RulesRefusal::Season(self.season)),
            () if self.methods.is_empty() => Err(RulesRefusal::Methods),
            () => Ok(()),
        }
    }
}

/// Months before the first moment of a test.
const FIRST_TEST: usize = 6;
/// What a window counts for that is a month older than another: in a test of one item, and how much
/// less among many. Demand moves with the plant, and with many items the latest tests say enough.
const AGED: f64 = 0.95;
const AGED_LESS: f64 = 0.35;
/// Items among which it is halfway.
const MANY: f64 = 100.0;

/// Foresees items together: each by the blend of methods that its own past bears out, and, as far
/// as that says little, the past of the others.
///
/// Only what the histories hold is used. An item too short for a test (fewer months than the
/// horizon and six) is foreseen by the blend of the others, and without others by the blend that
/// stands before anything is known. Where nothing was ever asked for, the rate is that of the
/// others that never were, or half a demand in as long as was watched.
///
/// Fails where the rules make no test: see [`RulesRefusal`].
pub fn outlooks(
    histories: &[History],
    rules: &ForecastRules,
) -> Result<Vec<Outlook>, RulesRefusal> {
    rules.check()?;
    let kinds: Arc<[Kind]> = kinds(&rules.methods).into();
    let seen = in_parallel(histories, |history| Seen::of(history.demands()));
    let known = Known {
        rules,
        kin: kin(&seen),
        months: Months::of(rules.horizon as f64),
        kinds: &kinds,
        aged: AGED - AGED_LESS * histories.len() as f64 / (histories.len() as f64 + MANY),
    };
    let items = in_parallel(histories, |history| known.tested(history));
    let windows: Vec<Vec<&Window>> = items.iter().map(Item::windows).collect();
    let weights = weights(&windows, &kinds);
    let drift = known.drift(&items, &weights);
    let calibrations = known.calibrations(&items, &weights, &drift);
    let pairs: Vec<(&History, &Item)> = histories.iter().zip(&items).collect();
    Ok(in_parallel(&pairs, |(history, item)| {
        let moment = moment(&item.state);
        let own = weights.of_item(&item.windows(), moment);
        let ahead = item.state.foresee(&known.kin, &known.months);
        let (mean, _) = ahead.mean_and_variance(&kinds, &own);
        let blend = Blend {
            drift: drift.times(moment, item.state.seen.size().unwrap_or(known.kin.size), mean),
            calibration: calibrations[moment].clone(),
            kinds: kinds.clone(),
            weights: own,
        };
        let methods = known.methods(&blend.weights, &item.tests, &ahead);
        Outlook::blended(blend, history, item.state.clone(), known.kin, methods).after(
            item.tests.len(),
            rules.horizon,
            histories.len() - 1,
        )
    }))
}

/// Moments to test from, oldest first, and the present as the last.
fn origins(history: &History, rules: &ForecastRules) -> Vec<usize> {
    let now = history.demands().len();
    let mut origins: Vec<usize> = (0..rules.windows)
        .filter_map(|back| now.checked_sub(rules.horizon + back * rules.step))
        .filter(|origin| *origin >= FIRST_TEST)
        .collect();
    origins.reverse();
    origins.push(now);
    origins
}

/// One window of a back-test: what the parts foresaw, and what came.
struct Test {
    ahead: Ahead,
    came: u64,
    /// Pieces of a demand.
    size: f64,
    window: Window,
}

/// What one item says now, and what its past said.
struct Item {
    state: State,
    tests: Vec<Test>,
}

impl Item {
    fn windows(&self) -> Vec<&Window> {
        self.tests.iter().map(|test| &test.window).collect()
    }
}

/// What is the same for all items.
struct Known<'a> {
    rules: &'a ForecastRules,
    kinds: &'a [Kind],
    kin: Kin,
    months: Months,
    /// What a window counts for that is a month older than another.
    aged: f64,
}

/// Parts of a blend that weigh less than this are left out where it is held against what came.
const LIGHT: f64 = 1e-3;
/// Chances, over the largest of a window, that are too small for the digits that windows keep.
const FAINT: f64 = 1e-30;

impl Known<'_> {
    fn tested(&self, history: &History) -> Item {
        let origins = origins(history, self.rules);
        let mut states = states(history.demands(), &origins, self.rules.season);
        let state = states.pop().expect("the present is the last of the moments");
        let mut mixture = Mixture::default();
        let count = states.len();
        let tests = states.iter().enumerate().map(|(number, state)| {
            let months_ago = (count - 1 - number) * self.rules.step;
            self.test(history, state, months_ago, &mut mixture)
        });
        Item { tests: tests.collect(), state }
    }

    fn test(
        &self,
        history: &History,
        state: &State,
        months_ago: usize,
        mixture: &mut Mixture,
    ) -> Test {
        let horizon = self.rules.horizon;
        let ahead = state.foresee(&self.kin, &self.months);
        let came: f64 = history.demands()[state.seen.months..][..horizon].iter().sum();
        // Parts of a piece are handed out whole.
        let came = came.ceil() as u64;
        let chances = mixture.apart(&ahead, self.kinds, came);
        let most = chances.iter().fold(1e-300, |a: f64, b| a.max(*b));
        let each = (self.rules.step as f64 / horizon as f64).min(1.0);
        let window = Window {
            chances: chances.iter().map(|chance| (chance / most) as f32).collect(),
            most,
            worth: each * self.aged.powi(months_ago as i32),
            moment: moment(state),
        };
        Test { ahead, came, size: state.seen.size().unwrap_or(self.kin.size), window }
    }

    /// Learns from what the common blend of each kind of moment foresaw in the tests.
    fn drift(&self, items: &[Item], weights: &Weights) -> Drift {
        let foreseen = |test: &Test| {
            let Test { ahead, came, size, window: Window { moment, worth, .. } } = test;
            let (mean, variance) = ahead.mean_and_variance(self.kinds, &weights.of_moment[*moment]);
            let (moment, size, came, worth) = (*moment, *size, *came as f64, *worth);
            Foreseen { moment, size, mean, variance, came, worth }
        };
        let windows = in_parallel(items, |item| -> Vec<Foreseen> {
            item.tests.iter().map(foreseen).collect()
        });
        Drift::learnt(&windows.concat(), &self.kin, self.rules.horizon)
    }

    /// How the chances of the drifted blend turned out, for each kind of moment.
    fn calibrations(&self, items: &[Item], weights: &Weights, drift: &Drift) -> Vec<Calibration> {
        let parts: Vec<Vec<(Kind, f64)>> =
            weights.of_moment.iter().map(|weights| heavy(self.kinds, weights, LIGHT)).collect();
        let stated = in_parallel(items, |item| {
            let mut mixture = Mixture::default();
            let stated = |test: &Test| {
                let Test { ahead, came, size, window: Window { moment, worth, .. } } = test;
                let own = &weights.of_moment[*moment];
                let (mean, _) = ahead.mean_and_variance(self.kinds, own);
                let ahead = ahead.drifted(drift.times(*moment, *size, mean));
                let (at, upto) = mixture.chances(&ahead, &parts[*moment], *came);
                (*moment, ((upto - at).max(0.0), upto, *worth))
            };
            item.tests.iter().map(stated).collect::<Vec<_>>()
        });
        let mut of_moment = vec![Vec::new(); MOMENTS];
        for (moment, stated) in stated.into_iter().flatten() {
            of_moment[moment].push(stated);
        }
        in_parallel(&of_moment, |stated| Calibration::learnt(stated))
    }

    /// What each method foresaw in the tests of one item, and foresees now.
    fn methods(&self, weights: &[f64], tests: &[Test], now: &Ahead) -> Vec<MethodTest> {
        let whole = self.by_method(weights, |_, _| 1.0);
        let foreseen = |ahead: &Ahead| self.by_method(weights, |_, kind| ahead.expected(kind));
        let months = foreseen(now).map(|sum| sum / self.rules.horizon as f64);
        let windows = tests.len() as f64;
        let [mut bias, mut squares, mut surprise] = [[0.0; COUNT]; 3];
        for test in tests {
            let foreseen = foreseen(&test.ahead);
            let chances = &test.window.chances;
            let seen = self.by_method(weights, |part, _| f64::from(chances[part]));
            for method in self.rules.methods.iter().map(|method| *method as usize) {
                let off = foreseen[method] / whole[method] - test.came as f64;
                bias[method] += off / windows;
                squares[method] += off * off / windows;
                let chance = match seen[method] > FAINT * whole[method] {
                    true => seen[method] * test.window.most,
                    false => self.faint(weights, test, method),
                };
                surprise[method] -= (chance / whole[method]).max(1e-300).ln() / windows;
            }
        }
        let of_method = |method: &Method| {
            let (method, n) = (*method, *method as usize);
            let (weight, month, error) = (whole[n], months[n] / whole[n], squares[n].sqrt());
            MethodTest { method, weight, month, bias: bias[n], error, surprise: surprise[n] }
        };
        self.rules.methods.iter().map(of_method).collect()
    }

    /// Weighted sums of a figure over the parts of each method, which follow each other.
    fn by_method(&self, weights: &[f64], figure: impl Fn(usize, &Kind) -> f64) -> [f64; COUNT] {
        let mut sums = [0.0; COUNT];
        let mut parts = weights.iter().enumerate();
        for of_method in self.kinds.chunk_by(|one, other| one.method == other.method) {
            let parts = of_method.iter().zip(&mut parts);
            let sum: f64 = parts.map(|(kind, (part, weight))| weight * figure(part, kind)).sum();
            sums[of_method[0].method as usize] += sum;
        }
        sums
    }

    /// Weighted sum of the chances that the parts of one method gave to what came, with all digits.
    fn faint(&self, weights: &[f64], test: &Test, method: usize) -> f64 {
        let parts = self.kinds.iter().zip(weights);
        let own = parts.filter(|(kind, _)| kind.method as usize == method);
        own.map(|(kind, weight)| weight * test.ahead.spread(kind).chances(test.came).0).sum()
    }
}
