use super::Seen;

/// The log-likelihood over the logarithms of scale and shape.
pub(super) struct Surface {
    /// Each record as the logarithms of its ages, with its weight.
    records: Vec<(Record, f64)>,
    /// Logarithm of the middle of the ages, from which scales are told.
    centre: f64,
}

/// What was seen, in logarithms of years from the centre.
enum Record {
    Failed(f64),
    Outlived(f64),
    Before(f64),
    Between(f64, f64),
}

/// A point of the surface: value, slopes, and second slopes (scale twice, across, shape twice).
struct Point {
    height: f64,
    slope: [f64; 2],
    bend: [f64; 3],
}

/// The highest point, at (ln scale, ln shape).
pub(super) struct Top {
    pub at: [f64; 2],
    pub height: f64,
    /// Of ln scale, of both, of ln shape.
    pub covariance: [f64; 3],
}

impl Surface {
    pub(super) fn of(weighed: &[(Seen, f64)]) -> Self {
        let ages = weighed.iter().map(|(seen, weight)| {
            let age = match *seen {
                Seen::Failed { at_y } | Seen::Outlived { at_y } | Seen::FailedBefore { at_y } => {
                    at_y.ln()
                }
                Seen::FailedBetween { from_y, to_y } => (from_y.ln() + to_y.ln()) / 2.0,
            };
            (age, *weight)
        });
        let (sum, weights) = ages.fold((0.0, 0.0), |(s, w), (age, by)| (s + age * by, w + by));
        let centre = sum / weights;
        let records = weighed.iter().map(|(seen, weight)| {
            let record = match *seen {
                Seen::Failed { at_y } => Record::Failed(at_y.ln() - centre),
                Seen::Outlived { at_y } => Record::Outlived(at_y.ln() - centre),
                Seen::FailedBefore { at_y } => Record::Before(at_y.ln() - centre),
                Seen::FailedBetween { from_y, to_y } => {
                    Record::Between(from_y.ln() - centre, to_y.ln() - centre)
                }
            };
            (record, *weight)
        });
        Self { records: records.collect(), centre }
    }

    /// `a` is ln scale from the centre, `b` ln shape.
    fn at(&self, [a, b]: [f64; 2]) -> Point {
        let shape = b.exp();
        let mut point = Point { height: 0.0, slope: [0.0; 2], bend: [0.0; 3] };
        for (record, weight) in &self.records {
            match *record {
                Record::Failed(age) => {
                    let w = shape * (age - a);
                    let e = w.exp();
                    point.height += weight * (b - age - self.centre + w - e);
                    point.slope[1] += weight;
                    point.add(*weight, shape, w, 1.0 - e, -e);
                }
                Record::Outlived(age) => {
                    let w = shape * (age - a);
                    let e = w.exp();
                    point.height -= weight * e;
                    point.add(*weight, shape, w, -e, -e);
                }
                Record::Before(age) => {
                    let w = shape * (age - a);
                    let (height, first, second) = ln_failed(w);
                    point.height += weight * height;
                    point.add(*weight, shape, w, first, second);
                }
                Record::Between(from, to) => {
                    point.between(*weight, shape, shape * (from - a), shape * (to - a));
                }
            }
        }
        point
    }
}

impl Point {
    /// Adds a function of w = shape·(age - a) by its slopes with w, which itself has the slopes
    /// -shape with a and w with b.
    fn add(&mut self, weight: f64, shape: f64, w: f64, first: f64, second: f64) {
        self.slope[0] -= weight * first * shape;
        self.slope[1] += weight * first * w;
        self.bend[0] += weight * second * shape * shape;
        self.bend[1] -= weight * shape * (second * w + first);
        self.bend[2] += weight * w * (second * w + first);
    }

    /// Adds ln(e^(-e^u) - e^(-e^v)) for an end between u and v.
    fn between(&mut self, weight: f64, shape: f64, u: f64, v: f64) {
        let (eu, ev) = (u.exp(), v.exp());
        let gap = ev - eu;
        // e^(-eu)·(1 - e^(-gap)), whose logarithm keeps its digits at both ends.
        self.height += weight * (-eu + (-(-gap).exp_m1()).ln());
        // Densities over the probability: p at u and q at v, with their slopes.
        let over = -(-gap).exp_m1();
        let p = eu / over;
        let q = ev * (-gap).exp() / over;
        let (fu, fv) = (-p, q);
        let fuu = -p * (1.0 - eu) - p * p;
        let fvv = q * (1.0 - ev) - q * q;
        let fuv = p * q;
        self.slope[0] -= weight * shape * (fu + fv);
        self.slope[1] += weight * (fu * u + fv * v);
        self.bend[0] += weight * shape * shape * (fuu + 2.0 * fuv + fvv);
        let along_u = fuu * u + fuv * v + fu;
        let along_v = fuv * u + fvv * v + fv;
        self.bend[1] -= weight * shape * (along_u + along_v);
        self.bend[2] += weight * (u * along_u + v * along_v);
    }
}

/// ln(1 - e^(-e^w)) and its slopes with w.
fn ln_failed(w: f64) -> (f64, f64, f64) {
    let e = w.exp();
    let failed = -(-e).exp_m1();
    let first = if failed > 0.0 { e * (-e).exp() / failed } else { 1.0 };
    (failed.ln(), first, first * (1.0 - e - first))
}

/// Climbs to the top by Newton steps, turned uphill where the surface is not yet a dome and halved
/// while they do not rise; none where there is no top within reach.
pub(super) fn climb(surface: &Surface) -> Option<Top> {
    let mut at = [0.3, 0.5];
    let mut point = surface.at(at);
    for _ in 0..200 {
        let step = uphill(&point);
        let mut share = (1.5 / step[0].abs().max(step[1].abs())).min(1.0);
        let gain = step[0] * point.slope[0] + step[1] * point.slope[1];
        // The height carries rounding of its own: below that no step can be told from another.
        let level = 1e-13 * (1.0 + point.height.abs());
        let next = loop {
            let next_at = [at[0] + share * step[0], at[1] + share * step[1]];
            let next = surface.at(next_at);
            if next.height.is_finite() && next.height >= point.height + 1e-4 * share * gain - level
            {
                break Some((next_at, next));
            }
            share /= 2.0;
            if share < 1e-12 {
                break None;
            }
        };
        let moved = step[0].abs().max(step[1].abs()) * share;
        (at, point) = next?;
        if at[0].abs() > 30.0 || at[1].abs() > 8.0 {
            return None;
        }
        if moved < 1e-9 {
            return top(surface, at, &point);
        }
    }
    None
}

fn top(surface: &Surface, at: [f64; 2], point: &Point) -> Option<Top> {
    let [scale, across, shape] = point.bend.map(|bend| -bend);
    let det = scale * shape - across * across;
    if !(det > 0.0 && scale > 0.0) {
        return None;
    }
    Some(Top {
        at: [at[0] + surface.centre, at[1]],
        height: point.height,
        covariance: [shape / det, -across / det, scale / det],
    })
}

/// Newton's step, with as much added to the bend as makes it a dome.
fn uphill(point: &Point) -> [f64; 2] {
    let [scale, across, shape] = point.bend.map(|bend| -bend);
    // The smaller eigenvalue of a symmetric 2 × 2 matrix.
    let least = (scale + shape) / 2.0 - (((scale - shape) / 2.0).powi(2) + across * across).sqrt();
    let floor = 1e-6 * (scale.abs() + shape.abs()).max(1e-12);
    let lift = if least < floor { floor - least + 0.1 * (scale.abs() + shape.abs()) } else { 0.0 };
    let (scale, shape) = (scale + lift, shape + lift);
    let det = scale * shape - across * across;
    let [a, b] = point.slope;
    [(shape * a - across * b) / det, (scale * b - across * a) / det]
}
