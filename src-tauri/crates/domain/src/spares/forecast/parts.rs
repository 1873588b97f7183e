use super::method::Method;

/// How quickly the evolving mean forgets: what a month counts for one month later.
pub(super) const KEPT: [f64; 5] = [0.7, 0.85, 0.92, 0.97, 1.0];
/// Chances that an item's demand ends in a month.
pub(super) const ENDS: [f64; 2] = [0.01, 0.05];
/// Spread of the plain methods: what multiplies the variance of the months, and that of the level;
/// with the share of each before anything is known. Methods of little weight take the middle one.
pub(super) const PLAIN: [(f64, f64, f64); 3] = [(0.6, 0.0, 0.3), (1.0, 0.5, 0.5), (1.0, 3.0, 0.2)];
/// Spread of the evolving mean.
pub(super) struct Evolving {
    /// What multiplies the variance of the months and that of its gamma distribution.
    pub of_months: f64,
    pub of_level: f64,
    /// What each month's mean is of the one before.
    pub drift: f64,
    /// Demands that the long-run mean counts for.
    pub pull: f64,
    share: f64,
}

const fn evolving(of_months: f64, of_level: f64, drift: f64, pull: f64, share: f64) -> Evolving {
    Evolving { of_months, of_level, drift, pull, share }
}

pub(super) const EVOLVING: [Evolving; 6] = [
    evolving(1.0, 1.0, 1.0, PULL, 0.3),
    evolving(0.7, 0.5, 1.0, PULL, 0.15),
    evolving(1.0, 2.5, 0.97, PULL, 0.1),
    evolving(0.7, 0.7, 0.88, PULL, 0.15),
    evolving(1.0, 1.0, 1.04, PULL, 0.1),
    evolving(0.8, 0.7, 0.96, 2.5, 0.2),
];
/// How many of them, the first, an item has whose demand may have ended, and their pull.
pub(super) const ENDING: usize = 3;
pub(super) const PULL: f64 = 0.3;

/// Where figures of the parts stand in their lists: means of the plain methods by their numbers,
/// then those of the evolving mean, pace by pace, and of demand that may have ended.
pub(super) const MEANS: usize = ENDED_MEANS + ENDING;
pub(super) const EVOLVING_MEANS: usize = Method::EvolvingCounts as usize;
pub(super) const ENDED_MEANS: usize = EVOLVING_MEANS + KEPT.len() * EVOLVING.len();
/// The same for the variance over the mean, which all plain methods share.
pub(super) const CLUMPS: usize = ENDED_CLUMPS + ENDING;
pub(super) const EVOLVING_CLUMPS: usize = PLAIN.len();
pub(super) const ENDED_CLUMPS: usize = EVOLVING_CLUMPS + KEPT.len() * EVOLVING.len();

/// One part of the blend: whose it is, and where its figures stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Kind {
    pub method: Method,
    pub mean_at: usize,
    pub clump_at: usize,
    /// Place of the chance that its demand has ended; the first is that of none.
    pub end_at: usize,
    /// Weight before anything is known; not made to sum to 1.
    pub share: f64,
}

/// Lists the parts that the methods of a choice have.
pub(super) fn kinds(methods: &[Method]) -> Vec<Kind> {
    methods.iter().flat_map(|method| parts_of(*method)).collect()
}

fn parts_of(method: Method) -> Vec<Kind> {
    let whole = share_of(method);
    let part = |mean_at: usize, clump_at: usize, end_at: usize, share: f64| Kind {
        method,
        mean_at,
        clump_at,
        end_at,
        share: share * whole,
    };
    match method {
        Method::Zero => vec![part(method as usize, 0, 0, 1.0)],
        Method::EvolvingCounts => {
            let share = |at: usize| EVOLVING[at % EVOLVING.len()].share / KEPT.len() as f64;
            let all = 0..KEPT.len() * EVOLVING.len();
            all.map(|at| part(EVOLVING_MEANS + at, EVOLVING_CLUMPS + at, 0, share(at))).collect()
        }
        Method::ZeroInflated => {
            let of_end = |end: usize| {
                let share = |at: usize| EVOLVING[at].share / ENDS.len() as f64;
                let all = 0..ENDING;
                all.map(move |at| part(ENDED_MEANS + at, ENDED_CLUMPS + at, 1 + end, share(at)))
            };
            (0..ENDS.len()).flat_map(of_end).collect()
        }
        _ => {
            let rows = if whole < 1.0 { 1..2 } else { 0..PLAIN.len() };
            rows.map(|row| part(method as usize, row, 0, PLAIN[row].2)).collect()
        }
    }
}

/// Weight of a method before anything is known, against one of the usual ones: a decision, no
/// source. Those that follow the last month or nothing at all rarely do well.
fn share_of(method: Method) -> f64 {
    match method {
        Method::Zero | Method::Naive => 0.2,
        Method::Average3 | Method::Croston | Method::Sbj | Method::Season => 0.5,
        Method::EvolvingCounts => 4.0,
        _ => 1.0,
    }
}
