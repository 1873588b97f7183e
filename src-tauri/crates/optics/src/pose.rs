//! Where a symbol lies in an image.

/// Half a side of the symbol, modules.
const HALF: f64 = 10.5;

/// A projective map from modules to pixels.
///
/// Parameters: centre x and y, half the way along a row (x, y), half the way along a column
/// (x, y), and the two of perspective. Places run from −1 to 1 over the symbol.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose(pub [f64; 8]);

impl Pose {
    /// Corners in px from the symbol's own top left, clockwise.
    ///
    /// `None` where three of them lie on a line or they do not go round one convex area.
    pub fn of_corners(corners: &[(f32, f32); 4]) -> Option<Self> {
        let [a, b, c, d] = corners.map(|(x, y)| (f64::from(x), f64::from(y)));
        let turn = |p: (f64, f64), q: (f64, f64), r: (f64, f64)| {
            (q.0 - p.0) * (r.1 - p.1) - (q.1 - p.1) * (r.0 - p.0)
        };
        let turns = [turn(a, b, c), turn(b, c, d), turn(c, d, a), turn(d, a, b)];
        if !turns.iter().all(|t| *t > 1.0) {
            return None;
        }
        // Rows of x (1 + g u + h v) = cx + ax u + bx v and the same for y, at the four corners.
        let mut rows = [[0.0; 9]; 8];
        for (at, ((u, v), (x, y))) in [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
            .into_iter()
            .zip([a, b, c, d])
            .enumerate()
        {
            rows[2 * at] = [1.0, 0.0, u, 0.0, v, 0.0, -x * u, -x * v, x];
            rows[2 * at + 1] = [0.0, 1.0, 0.0, u, 0.0, v, -y * u, -y * v, y];
        }
        solved(rows).map(Self)
    }

    /// From the centres of the finder patterns: top left, top right, bottom left.
    pub fn of_finders(
        top_left: (f64, f64),
        top_right: (f64, f64),
        bottom_left: (f64, f64),
    ) -> Self {
        // The centres are 14 modules apart, and 3.5 from the edges.
        let along = |to: (f64, f64)| ((to.0 - top_left.0) / 14.0, (to.1 - top_left.1) / 14.0);
        let (row, column) = (along(top_right), along(bottom_left));
        let centre = |a: f64, r: f64, c: f64| a + 7.0 * (r + c);
        Self([
            centre(top_left.0, row.0, column.0),
            centre(top_left.1, row.1, column.1),
            row.0 * HALF,
            row.1 * HALF,
            column.0 * HALF,
            column.1 * HALF,
            0.0,
            0.0,
        ])
    }

    /// Without perspective, which the corners of a damaged symbol do not give.
    pub fn flat(&self) -> Self {
        let [cx, cy, ax, ay, bx, by, ..] = self.0;
        Self([cx, cy, ax, ay, bx, by, 0.0, 0.0])
    }

    /// Pixel of a place in modules.
    pub fn pixel(&self, u: f64, v: f64) -> (f64, f64) {
        let [cx, cy, ax, ay, bx, by, g, h] = self.0;
        let (u, v) = (u / HALF - 1.0, v / HALF - 1.0);
        let w = 1.0 + g * u + h * v;
        ((cx + ax * u + bx * v) / w, (cy + ay * u + by * v) / w)
    }

    /// Place in modules of a pixel.
    pub fn module(&self, x: f64, y: f64) -> (f64, f64) {
        let [cx, cy, ax, ay, bx, by, g, h] = self.0;
        // (ax − x g) u + (bx − x h) v = x − cx, and the same for y.
        let (p, q, r) = (ax - x * g, bx - x * h, x - cx);
        let (s, t, w) = (ay - y * g, by - y * h, y - cy);
        let det = p * t - q * s;
        ((1.0 + (r * t - q * w) / det) * HALF, (1.0 + (p * w - r * s) / det) * HALF)
    }

    pub fn corners(&self) -> [(f32, f32); 4] {
        [(0.0, 0.0), (21.0, 0.0), (21.0, 21.0), (0.0, 21.0)].map(|(u, v)| {
            let (x, y) = self.pixel(u, v);
            (x as f32, y as f32)
        })
    }

    /// Mean side of a module in px.
    pub fn module_px(&self) -> f64 {
        let [_, _, ax, ay, bx, by, ..] = self.0;
        (ax * by - ay * bx).abs().sqrt() / HALF
    }

    pub fn centre(&self) -> (f64, f64) {
        (self.0[0], self.0[1])
    }

    /// The same place in an image cropped at (`left`, `top`) and then reduced.
    pub fn reduced(&self, left: f64, top: f64, factor: f64) -> Self {
        let mut moved = self.0;
        let [.., g, h] = self.0;
        // A shift of the image shifts the numerators of all terms.
        for (at, weight) in [(0, 1.0), (2, g), (4, h)] {
            moved[at] = (self.0[at] - left * weight) / factor;
            moved[at + 1] = (self.0[at + 1] - top * weight) / factor;
        }
        Self(moved)
    }

    /// The way back of [`Pose::reduced`].
    pub fn enlarged(&self, left: f64, top: f64, factor: f64) -> Self {
        self.reduced(0.0, 0.0, 1.0 / factor).reduced(-left, -top, 1.0)
    }

    /// How a value at a place (−1 to 1) that changes by `du` and `dv` a module changes when the
    /// symbol moves by one px along x or y there.
    pub fn slopes(&self, u: f64, v: f64, du: f64, dv: f64) -> (f64, f64) {
        let [_, _, ax, ay, bx, by, g, h] = self.0;
        let w = 1.0 + g * u + h * v;
        let (x, y) = self.pixel((u + 1.0) * HALF, (v + 1.0) * HALF);
        // Pixels a module along the row and the column.
        let (xu, yu) = ((ax - x * g) / (w * HALF), (ay - y * g) / (w * HALF));
        let (xv, yv) = ((bx - x * h) / (w * HALF), (by - y * h) / (w * HALF));
        let det = xu * yv - xv * yu;
        let (ux, uy, vx, vy) = (yv / det, -xv / det, -yu / det, xu / det);
        (-(du * ux + dv * vx), -(du * uy + dv * vy))
    }

    /// Whether it is a shape that a photo of a flat, square symbol can show.
    pub fn is_sane(&self, width: u32, height: u32) -> bool {
        let [cx, cy, ax, ay, bx, by, g, h] = self.0;
        let (row, column) = (ax.hypot(ay), bx.hypot(by));
        let area = ax * by - ay * bx;
        cx > 0.0
            && cy > 0.0
            && cx < f64::from(width)
            && cy < f64::from(height)
            && row > 0.9 * HALF
            && column > 0.9 * HALF
            && (0.4..2.5).contains(&(row / column))
            && area > 0.5 * row * column
            && g.abs() + h.abs() < 0.3
    }
}

/// Solves linear equations by elimination; the last column is the right side.
pub fn solved<const N: usize, const M: usize>(mut rows: [[f64; M]; N]) -> Option<[f64; N]> {
    for at in 0..N {
        let pivot = (at..N).max_by(|a, b| rows[*a][at].abs().total_cmp(&rows[*b][at].abs()))?;
        rows.swap(at, pivot);
        let lead = rows[at];
        if lead[at].abs() < 1e-12 || !lead[at].is_finite() {
            return None;
        }
        for (other, row) in rows.iter_mut().enumerate() {
            if other != at {
                let factor = row[at] / lead[at];
                for (cell, above) in row.iter_mut().zip(lead).skip(at) {
                    *cell -= factor * above;
                }
            }
        }
    }
    Some(std::array::from_fn(|at| rows[at][N] / rows[at][at]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_modules_and_pixels_agree() {
        let corners = [(103.0, 52.0), (160.0, 48.0), (171.0, 117.0), (98.0, 110.0)];
        let pose = Pose::of_corners(&corners).unwrap();
        for (back, corner) in pose.corners().iter().zip(corners) {
            assert!((back.0 - corner.0).hypot(back.1 - corner.1) < 1e-3);
        }
        let (x, y) = pose.pixel(4.0, 17.5);
        let (u, v) = pose.module(x, y);
        assert!((u - 4.0).hypot(v - 17.5) < 1e-9);
        let small = pose.reduced(90.0, 40.0, 2.0);
        let (sx, sy) = small.pixel(4.0, 17.5);
        assert!((sx - (x - 90.0) / 2.0).hypot(sy - (y - 40.0) / 2.0) < 1e-9);
        let back = small.enlarged(90.0, 40.0, 2.0);
        assert!(back.0.iter().zip(pose.0).all(|(a, b)| (a - b).abs() < 1e-9));
    }

    #[test]
    fn finders_give_the_whole_symbol() {
        let pose = Pose::of_finders((13.5, 23.5), (41.5, 23.5), (13.5, 51.5));
        assert!((pose.module_px() - 2.0).abs() < 1e-9);
        assert_eq!(pose.corners()[0], (6.5, 16.5));
        assert_eq!(pose.corners()[2], (48.5, 58.5));
        assert_eq!(Pose::of_corners(&[(0.0, 0.0), (5.0, 5.0), (10.0, 10.0), (0.0, 10.0)]), None);
    }
}
