/// How a demand comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Pattern {
    Smooth,
    Intermittent,
    Erratic,
    Lumpy,
}

impl Pattern {
    /// What people read.
    pub fn title(self) -> &'static str {
        match self {
            Self::Smooth => "Smooth",
            Self::Intermittent => "Intermittent",
            Self::Erratic => "Erratic",
            Self::Lumpy => "Lumpy",
        }
    }
}

/// Returns the mean interval between demands (ADI) and the squared coefficient of variation of
/// their sizes (CV²). None where nothing was ever asked for.
///
/// The first interval counts from the start of the series; the variance is that of a sample, and 0
/// for one demand alone. Other definitions are in use and give other classes.
pub fn demand_measures(demands: &[f64]) -> Option<(f64, f64)> {
    let sizes: Vec<f64> = demands.iter().copied().filter(|demand| *demand > 0.0).collect();
    let last = demands.iter().rposition(|demand| *demand > 0.0)?;
    let count = sizes.len() as f64;
    let mean = sizes.iter().sum::<f64>() / count;
    let squares: f64 = sizes.iter().map(|size| (size - mean).powi(2)).sum();
    let variance = if count > 1.0 { squares / (count - 1.0) } else { 0.0 };
    Some(((last + 1) as f64 / count, variance / (mean * mean)))
}

/// Returns the pattern of a demand; a value on the border counts as low.
///
/// Source: Syntetos, Boylan and Croston 2005, Journal of the Operational Research Society
/// 56:495-503, with their borders of 1.32 and 0.49.
pub fn pattern(adi: f64, cv2: f64) -> Pattern {
    match (adi <= 1.32, cv2 <= 0.49) {
        (true, true) => Pattern::Smooth,
        (false, true) => Pattern::Intermittent,
        (true, false) => Pattern::Erratic,
        (false, false) => Pattern::Lumpy,
    }
}

/// A class of a list ranked by value, or of a demand ranked by steadiness.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Class {
    First,
    Second,
    Third,
}

/// What decides the class of an item of a ranked list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RankedBy {
    /// Share of the value of all items before it.
    ShareBefore,
    /// Share of the value up to it and with it.
    ShareAfter,
    /// Share of the number of items up to it and with it.
    Count,
}

/// One item of a ranked list.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ranked {
    /// Which item, counted from 0 in the order given.
    pub item: usize,
    pub value: f64,
    /// Share of the whole value up to it and with it, 0 to 1.
    pub share: f64,
    pub class: Class,
}

/// Ranks items by their value, the largest first, into classes A, B and C.
///
/// `first` and `second` are the shares at which A and B end; texts take 0.8 and 0.95. Items of
/// equal value keep their order.
pub fn rank(values: &[f64], first: f64, second: f64, by: RankedBy) -> Vec<Ranked> {
    let total: f64 = values.iter().sum();
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*b].total_cmp(&values[*a]));
    let mut reached = 0.0;
    let mut ranked = Vec::with_capacity(order.len());
    for (place, item) in order.into_iter().enumerate() {
        let before = reached;
        reached += values[item];
        let measure = match by {
            RankedBy::ShareBefore => before / total,
            RankedBy::ShareAfter => reached / total,
            RankedBy::Count => (place + 1) as f64 / values.len() as f64,
        };
        // A share that is reached but for the noise of the sum is reached. One that is full before
        // the item comes begins the next class.
        let within = |end: f64| match by {
            RankedBy::ShareBefore => measure < end - 1e-12,
            _ => measure <= end + 1e-12,
        };
        let class = match (within(first), within(second)) {
            (true, _) => Class::First,
            (_, true) => Class::Second,
            _ => Class::Third,
        };
        ranked.push(Ranked { item, value: values[item], share: reached / total, class });
    }
    ranked
}

/// Returns the class X, Y or Z of a demand by its coefficient of variation; a value on the border
/// counts as steadier. Texts differ on the borders: 0.1 and 0.25, or 0.5 and 1.
pub fn steadiness(demands: &[f64], first: f64, second: f64) -> Option<(f64, Class)> {
    let count = demands.len() as f64;
    let mean = demands.iter().sum::<f64>() / count;
    if mean.is_nan() || mean <= 0.0 {
        return None;
    }
    let squares: f64 = demands.iter().map(|demand| (demand - mean).powi(2)).sum();
    let variation = (squares / count).sqrt() / mean;
    let class = match variation {
        low if low <= first => Class::First,
        middle if middle <= second => Class::Second,
        _ => Class::Third,
    };
    Some((variation, class))
}
