use super::blend::{MOMENTS, Tested, Weights, moment, weights};
use super::calibration::Calibration;
use super::drift::{Drift, Foreseen, mean_and_variance};
use super::history::History;
use super::method::Method;
use super::outlook::{Blend, MethodTest, Outlook};
use super::parts::{Kin, Kind, State, kin, kinds, states};
use super::processors::in_parallel;
use super::spread::Spread;

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
    let kinds = kinds(&rules.methods);
    let items: Vec<usize> = (0..histories.len()).collect();
    let read = in_parallel(&items, |item| {
        let history = &histories[*item];
        states(history.demands(), &origins(history, rules), rules.season)
    });
    let kin = kin(read.iter().filter_map(|states| states.last()));
    let tests = in_parallel(&items, |item| {
        test(&histories[*item], &read[*item], &kinds, &kin, rules.horizon)
    });
    let tested = gathered(&tests, rules);
    let weights = weights(&tested, &kinds);
    let drift = Drift::learnt(&foreseen(&tested, &tests, &weights), &kin, rules.horizon);
    let moments: Vec<usize> = (0..MOMENTS).collect();
    let calibrations =
        in_parallel(&moments, |moment| calibration(&tested, &tests, &weights, *moment, &drift));
    Ok(in_parallel(&items, |item| {
        let state = &read[*item][read[*item].len() - 1];
        let windows: Vec<usize> = (tested.items[*item]..tested.items[*item + 1]).collect();
        let moment = moment(state);
        let own = weights.of_item(&tested, &windows, moment);
        let methods = tested_methods(rules, &kinds, &own, &tests[*item]);
        let calibration = calibrations[moment].clone();
        let mut spreads = Vec::new();
        state.foresee(&kinds, &kin, rules.horizon as f64, &mut spreads);
        let (mean, _) = mean_and_variance(&spreads, &own);
        let times = drift.times(moment, state.size().unwrap_or(kin.size), mean);
        let blend = Blend { kinds: kinds.clone(), weights: own, drift: times, calibration };
        Outlook::blended(blend, &histories[*item], state.clone(), kin, methods).after(
            windows.len(),
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

/// One window of a back-test: what each part foresaw, and what came.
struct Test {
    spreads: Vec<Spread>,
    /// Chance of what came.
    chances: Vec<f64>,
    came: u64,
    /// Pieces of a demand.
    size: f64,
    moment: usize,
}

fn test(
    history: &History,
    states: &[State],
    kinds: &[Kind],
    kin: &Kin,
    horizon: usize,
) -> Vec<Test> {
    let past = &states[..states.len() - 1];
    past.iter()
        .map(|state| {
            let mut spreads = Vec::with_capacity(kinds.len());
            state.foresee(kinds, kin, horizon as f64, &mut spreads);
            let came: f64 = history.demands()[state.months..][..horizon].iter().sum();
            // Parts of a piece are handed out whole.
            let came = came.ceil() as u64;
            let chances = spreads.iter().map(|spread| spread.chances(came).0).collect();
            Test {
                spreads,
                chances,
                came,
                size: state.size().unwrap_or(kin.size),
                moment: moment(state),
            }
        })
        .collect()
}

fn gathered(tests: &[Vec<Test>], rules: &ForecastRules) -> Tested {
    let each = (rules.step as f64 / rules.horizon as f64).min(1.0);
    let items = tests.len() as f64;
    let aged = AGED - AGED_LESS * items / (items + MANY);
    let mut tested = Tested { chances: vec![], worths: vec![], moments: vec![], items: vec![0] };
    for windows in tests {
        for (number, window) in windows.iter().enumerate() {
            let months_ago = (windows.len() - 1 - number) * rules.step;
            tested.worths.push(each * aged.powf(months_ago as f64));
            let most = window.chances.iter().fold(1e-300, |a: f64, b| a.max(*b));
            tested.chances.extend(window.chances.iter().map(|chance| (chance / most) as f32));
            tested.moments.push(window.moment);
        }
        tested.items.push(tested.moments.len());
    }
    tested
}

/// What the common blend of each kind of moment foresaw in the tests.
fn foreseen(tested: &Tested, tests: &[Vec<Test>], weights: &Weights) -> Vec<Foreseen> {
    let windows = tests.iter().flatten().zip(&tested.worths);
    windows
        .map(|(window, worth)| {
            let (mean, variance) =
                mean_and_variance(&window.spreads, &weights.of_moment[window.moment]);
            let (moment, size, came) = (window.moment, window.size, window.came as f64);
            Foreseen { moment, size, mean, variance, came, worth: *worth }
        })
        .collect()
}

/// How the chances of the drifted blend turned out in the windows of one kind of moment.
fn calibration(
    tested: &Tested,
    tests: &[Vec<Test>],
    weights: &Weights,
    moment: usize,
    drift: &Drift,
) -> Calibration {
    let own = &weights.of_moment[moment];
    let windows = tests.iter().flatten().zip(&tested.worths);
    let stated: Vec<(f64, f64, f64)> = windows
        .filter(|(window, _)| window.moment == moment)
        .map(|(window, worth)| {
            let (mut upto, mut at, mut whole) = (0.0, 0.0, 0.0);
            let (mean, _) = mean_and_variance(&window.spreads, own);
            let times = drift.times(moment, window.size, mean);
            for (part, weight) in own.iter().enumerate().filter(|(_, weight)| **weight > 1e-3) {
                let (chance, no_more) = window.spreads[part].drifted(times).chances(window.came);
                upto += weight * no_more;
                at += weight * chance;
                whole += weight;
            }
            ((upto - at).max(0.0) / whole, upto / whole, *worth)
        })
        .collect();
    Calibration::learnt(&stated)
}

/// What each method foresaw in the tests of one item.
fn tested_methods(
    rules: &ForecastRules,
    kinds: &[Kind],
    weights: &[f64],
    tests: &[Test],
) -> Vec<MethodTest> {
    let windows = tests.len() as f64;
    let of_method = |method: Method| {
        let parts: Vec<usize> =
            (0..kinds.len()).filter(|part| kinds[*part].method == method).collect();
        let weight: f64 = parts.iter().map(|part| weights[*part]).sum();
        let within = |figure: &dyn Fn(usize) -> f64| {
            parts.iter().map(|part| weights[*part] * figure(*part)).sum::<f64>() / weight
        };
        let (mut bias, mut squares, mut surprise) = (0.0, 0.0, 0.0);
        for test in tests {
            let off = within(&|part| test.spreads[part].expected()) - test.came as f64;
            bias += off / windows;
            squares += off * off / windows;
            surprise -= within(&|part| test.chances[part]).max(1e-300).ln() / windows;
        }
        MethodTest { method, weight, month: 0.0, bias, error: squares.sqrt(), surprise }
    };
    rules.methods.iter().copied().map(of_method).collect()
}
