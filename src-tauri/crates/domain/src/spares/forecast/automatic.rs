use super::blend::{MOMENTS, Tested, Weights, moment, weights};
use super::calibration::Calibration;
use super::history::History;
use super::method::Method;
use super::parts::{Kin, Kind, State, kinds, states};
use super::spread::Spread;

/// How histories are tested and what is asked of them.
#[derive(Debug, Clone, PartialEq)]
pub struct ForecastRules {
    /// Months that a forecast is tested over: the lead time.
    pub horizon: usize,
    /// Methods that may be blended.
    pub methods: Vec<Method>,
    /// Moments of the past to test from, and months between them.
    pub windows: usize,
    pub step: usize,
    /// Months of a season.
    pub season: usize,
}

impl ForecastRules {
    /// Tests from eight moments, three months apart, with every method.
    pub fn over(horizon: usize) -> Self {
        Self { horizon, methods: Method::ALL.to_vec(), windows: 8, step: 3, season: 12 }
    }
}

/// Months before the first moment of a test.
const FIRST_TEST: usize = 6;
/// What a window counts for that is a month older than another.
const AGED: f64 = 0.9;

/// Demand to come of one item.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    kinds: Vec<Kind>,
    weights: Vec<f64>,
    state: State,
    kin: Kin,
    calibration: Calibration,
}

impl Outlook {
    /// Mean demand in so many months.
    pub fn expected(&self, months: f64) -> f64 {
        let chances = self.chances(months);
        chances.iter().enumerate().map(|(k, chance)| k as f64 * chance).sum()
    }

    /// Chances of 0, 1, 2 … pieces in so many months.
    pub fn chances(&self, months: f64) -> Vec<f64> {
        let mut spreads = Vec::new();
        self.state.foresee(&self.kinds, &self.kin, months, &mut spreads);
        let mut chances = mixed(&spreads, &self.weights, 1e-5, usize::MAX);
        self.calibration.apply(&mut chances);
        chances
    }

    pub fn weights(&self) -> Vec<(Method, f64)> {
        self.kinds.iter().zip(&self.weights).map(|(kind, weight)| (kind.method, *weight)).collect()
    }
}

/// Mixes the parts that weigh more than `least`, up to so many pieces.
fn mixed(spreads: &[Spread], weights: &[f64], least: f64, most: usize) -> Vec<f64> {
    let kept = || spreads.iter().zip(weights).filter(|(_, weight)| **weight >= least);
    let whole: f64 = kept().map(|(_, weight)| weight).sum();
    let reach = kept().map(|(spread, _)| spread.reach()).max().unwrap_or(1).min(most);
    let mut chances = vec![0.0; reach];
    kept().for_each(|(spread, weight)| spread.add_to(&mut chances, weight / whole));
    chances
}

/// Foresees items together: each by the blend of methods that its own past and that of the others
/// bear out.
pub fn outlooks(histories: &[History], rules: &ForecastRules) -> Vec<Outlook> {
    let kinds = kinds(&rules.methods);
    let origins: Vec<Vec<usize>> = histories.iter().map(|h| origins(h, rules)).collect();
    let pairs: Vec<(&History, &Vec<usize>)> = histories.iter().zip(&origins).collect();
    let mut read = in_parallel(&pairs, |(history, origins)| {
        states(history.demands(), origins, rules.season)
    });
    let kin = kin(read.iter().filter_map(|states| states.last()));
    let items: Vec<usize> = (0..histories.len()).collect();
    let tests = in_parallel(&items, |item| {
        test(&histories[*item], &read[*item], &kinds, &kin, rules.horizon)
    });
    let tested = gathered(&tests, rules);
    let weights = weights(&tested, &kinds);
    let calibrations: Vec<Calibration> =
        (0..MOMENTS).map(|moment| calibration(&tested, &tests, &weights, moment)).collect();
    let last: Vec<State> = read.iter_mut().filter_map(Vec::pop).collect();
    in_parallel(&items, |item| {
        let state = last[*item].clone();
        let windows: Vec<usize> = (tested.items[*item]..tested.items[*item + 1]).collect();
        let moment = moment(state.recent, state.months, state.asked());
        let own = weights.of_item(&tested, &windows, moment);
        Outlook {
            kinds: kinds.clone(),
            weights: own,
            state,
            kin,
            calibration: calibrations[moment].clone(),
        }
    })
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
    came: u64,
    moment: usize,
}

fn test(
    history: &History,
    states: &[State],
    kinds: &[Kind],
    kin: &Kin,
    horizon: usize,
) -> Vec<Test> {
    let demands = history.demands();
    let past = &states[..states.len() - 1];
    past.iter()
        .map(|state| {
            let mut spreads = Vec::with_capacity(kinds.len());
            state.foresee(kinds, kin, horizon as f64, &mut spreads);
            let came: f64 = demands[state.months..][..horizon].iter().sum();
            Test { spreads, came: came.ceil() as u64, moment: moment(state.recent, state.months, state.asked()) }
        })
        .collect()
}

fn gathered(tests: &[Vec<Test>], rules: &ForecastRules) -> Tested {
    let each = (rules.step as f64 / rules.horizon as f64).min(1.0);
    let mut tested = Tested { chances: vec![], scale_ln: vec![], worths: vec![], moments: vec![], items: vec![0] };
    for windows in tests {
        for (number, window) in windows.iter().enumerate() {
            let back = (windows.len() - 1 - number) * rules.step;
            tested.worths.push(each * AGED.powf(back as f64));
            let from = tested.chances.len();
            tested.chances.extend(window.spreads.iter().map(|spread| spread.chance(window.came)));
            let most = tested.chances[from..].iter().fold(1e-300, |a: f64, b| a.max(*b));
            tested.chances[from..].iter_mut().for_each(|chance| *chance /= most);
            tested.scale_ln.push(most.ln());
            tested.moments.push(window.moment);
        }
        tested.items.push(tested.moments.len());
    }
    tested
}

fn calibration(
    tested: &Tested,
    tests: &[Vec<Test>],
    weights: &Weights,
    moment: usize,
) -> Calibration {
    let windows = tests.iter().flatten().zip(&tested.worths);
    let of_moment = windows.filter(|(window, _)| window.moment == moment);
    let stated: Vec<(f64, f64, f64)> = of_moment
        .map(|(window, worth)| {
            let own = &weights.of_moment[moment];
            let chances = mixed(&window.spreads, own, 1e-3, window.came as usize + 1);
            let upto: f64 = chances.iter().sum();
            let at = chances.get(window.came as usize).copied().unwrap_or(0.0);
            (upto - at, upto, *worth)
        })
        .collect();
    Calibration::learnt(&stated)
}

/// What the items have in common.
fn kin<'a>(states: impl Iterator<Item = &'a State> + Clone) -> Kin {
    let rates: Vec<f64> = states.clone().map(State::rate).collect();
    let count = rates.len() as f64;
    let months = states.clone().map(|state| state.months as f64).sum::<f64>() / count;
    // Where nothing was ever asked for, half a demand in as long as was watched.
    let rate = (rates.iter().sum::<f64>() / count).max(0.5 / (months * count));
    let squares: f64 = rates.iter().map(|other| (other - rate).powi(2)).sum();
    let variance = squares / (count - 1.0).max(1.0) - rate / months;
    let shape = if count < 5.0 { 0.5 } else { (rate * rate / variance.max(1e-9)).clamp(0.1, 5.0) };
    let mean_ln = |figures: &mut dyn Iterator<Item = f64>| {
        let (sum, count) = figures.fold((0.0, 1.0), |(sum, n), figure| (sum + figure.ln(), n + 1.0));
        (sum / count).exp()
    };
    let size = mean_ln(&mut states.clone().filter_map(State::size));
    let clump = mean_ln(&mut states.filter_map(State::clump));
    Kin { rate, shape, size, clump }
}

/// Does the same with each of a list on all processors; the replies keep the order.
fn in_parallel<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let each = items.len().div_ceil(threads).max(1);
    if items.len() < 2 * threads {
        return items.iter().map(work).collect();
    }
    let work = &work;
    std::thread::scope(|scope| {
        let running: Vec<_> = items
            .chunks(each)
            .map(|chunk| scope.spawn(move || chunk.iter().map(work).collect::<Vec<R>>()))
            .collect();
        let finished = running.into_iter().map(|thread| match thread.join() {
            Ok(replies) => replies,
            Err(panic) => std::panic::resume_unwind(panic),
        });
        finished.flatten().collect()
    })
}
