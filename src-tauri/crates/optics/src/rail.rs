//! Labels that stand on a rail: which belong together, in which order, and where others may be.

mod merge;

pub use merge::{MergedLabel, MergedRail, SeenLabel, merged};

use crate::photo::Grey;
use crate::pose::Pose;
use crate::read::Found;

/// Labels in one row of a photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Rail {
    /// Places in the list of finds, from the left as the labels are read.
    pub order: Vec<usize>,
    /// Distance from one slot to the next, px: that of the narrowest neighbours, where two or
    /// more distances agree. `None` for fewer than three labels or where no two agree.
    pub pitch_px: Option<f32>,
    /// From the first to the last label, as a share of the rail's direction: x and y.
    pub direction: (f32, f32),
}

/// How far the sizes of neighbours on a rail may differ, as a factor.
const SIZES: std::ops::Range<f32> = 0.75..1.33;

/// How far a label may stand off the line of its neighbours, as a share of its side.
const OFF_LINE: f32 = 0.5;

/// Neighbours are no further away than this many sides of a symbol.
const FARTHEST: f32 = 14.0;

/// Distances that differ by less than this share are the same.
const SAME_PITCH: f32 = 0.08;

/// Sorts the symbols of a photo into rails.
///
/// Two labels are neighbours when they are of equal size, turned alike, and each lies on the
/// line that the other's upper edge gives. Symbols that are no labels of a version-1 size are
/// sorted too: what they say does not matter. Rails with one label are given as well.
pub fn rails(found: &[Found]) -> Vec<Rail> {
    let mut group: Vec<usize> = (0..found.len()).collect();
    for a in 0..found.len() {
        let nearest = |ahead: bool| {
            let others = (0..found.len()).filter(|b| *b != a && neighbours(&found[a], &found[*b]));
            others
                .map(|b| (along(&found[a], &found[b]), b))
                .filter(|(far, _)| (*far > 0.0) == ahead)
                .min_by(|p, q| p.0.abs().total_cmp(&q.0.abs()))
        };
        for (_, b) in [nearest(true), nearest(false)].into_iter().flatten() {
            let (from, to) = (group[a].max(group[b]), group[a].min(group[b]));
            group.iter_mut().filter(|g| **g == from).for_each(|g| *g = to);
        }
    }
    let mut heads = group.clone();
    heads.sort_unstable();
    heads.dedup();
    let members = |head: usize| (0..found.len()).filter(|at| group[*at] == head).collect();
    let mut rails: Vec<Rail> = heads.into_iter().map(|head| rail(found, members(head))).collect();
    let height = |rail: &Rail| {
        let sum: f32 = rail.order.iter().map(|at| found[*at].centre().1).sum();
        sum / rail.order.len() as f32
    };
    rails.sort_by(|a, b| height(a).total_cmp(&height(b)));
    rails
}

fn rail(found: &[Found], mut order: Vec<usize>) -> Rail {
    let (mut dx, mut dy) = (0.0, 0.0);
    for at in &order {
        let (x, y) = edge(&found[*at]);
        dx += x;
        dy += y;
    }
    let length = dx.hypot(dy).max(f32::MIN_POSITIVE);
    let direction = (dx / length, dy / length);
    let place = |at: usize| {
        let (x, y) = found[at].centre();
        x * direction.0 + y * direction.1
    };
    order.sort_by(|a, b| place(*a).total_cmp(&place(*b)));
    let gaps: Vec<f32> = order.windows(2).map(|pair| place(pair[1]) - place(pair[0])).collect();
    Rail { pitch_px: pitch(gaps), order, direction }
}

/// The smallest distance that occurs twice; the mean of those like it.
fn pitch(mut gaps: Vec<f32>) -> Option<f32> {
    gaps.sort_by(f32::total_cmp);
    let at = gaps.windows(2).position(|pair| pair[1] < pair[0] * (1.0 + SAME_PITCH))?;
    let like = |gap: &&f32| **gap >= gaps[at] && **gap < gaps[at] * (1.0 + 2.0 * SAME_PITCH);
    let same: Vec<f32> = gaps.iter().filter(like).copied().collect();
    Some(same.iter().sum::<f32>() / same.len() as f32)
}

/// The upper edge as a vector, px.
fn edge(found: &Found) -> (f32, f32) {
    let [a, b, ..] = found.corners;
    (b.0 - a.0, b.1 - a.1)
}

/// How far `b` is ahead of `a` in the direction that `a` is read, px.
fn along(a: &Found, b: &Found) -> f32 {
    let ((ax, ay), (bx, by), (dx, dy)) = (a.centre(), b.centre(), edge(a));
    ((bx - ax) * dx + (by - ay) * dy) / dx.hypot(dy).max(f32::MIN_POSITIVE)
}

fn neighbours(a: &Found, b: &Found) -> bool {
    let one_way = |a: &Found, b: &Found| {
        let ((ax, ay), (bx, by), (dx, dy)) = (a.centre(), b.centre(), edge(a));
        let side = dx.hypot(dy).max(f32::MIN_POSITIVE);
        let far = along(a, b).abs();
        let off = ((by - ay) * dx - (bx - ax) * dy).abs() / side;
        // A label stuck on askew points a few degrees off the line.
        far < FARTHEST * side && off < OFF_LINE * side + 0.12 * far
    };
    let (ea, eb) = (edge(a), edge(b));
    let turned_alike = ea.0 * eb.0 + ea.1 * eb.1 > 0.9 * ea.0.hypot(ea.1) * eb.0.hypot(eb.1);
    SIZES.contains(&(b.side() / a.side())) && turned_alike && one_way(a, b) && one_way(b, a)
}

/// Step along a rail and across it when a place is looked for, modules.
const STEP: f64 = 1.0;

/// Correlation of the known modules from which a place is worth a look.
const LEAST: f32 = 0.45;

/// Places on the lines of labels that were read where others may be.
///
/// Between two labels that were read, and beyond the first and the last one, a symbol of the size
/// and turn of the nearest label is laid on the image step by step; where the corner patterns
/// agree more than all around, a symbol may be.
pub fn open_places(grey: &Grey, found: &[Found]) -> Vec<Pose> {
    let read: Vec<Found> = found.iter().filter(|f| f.is_read()).cloned().collect();
    let mut places = Vec::new();
    for rail in rails(&read).iter().filter(|rail| rail.order.len() >= 2) {
        let poses: Vec<Pose> =
            rail.order.iter().filter_map(|at| Pose::of_corners(&read[*at].corners)).collect();
        if poses.len() < 2 || poses.iter().any(|pose| pose.module_px() > 6.0) {
            continue;
        }
        for (at, pose) in poses.iter().enumerate() {
            let ahead = poses.get(at + 1).unwrap_or(pose);
            let behind = if at == 0 { pose } else { &poses[at - 1] };
            // Direction from the neighbours on both sides, in modules of this label.
            let (from, to) = (behind.centre(), ahead.centre());
            let length = (to.0 - from.0).hypot(to.1 - from.1) / pose.module_px();
            let way = ((to.0 - from.0) / length, (to.1 - from.1) / length);
            let gap = |other: &Pose| {
                let (x, y) = other.centre();
                (x - pose.centre().0).hypot(y - pose.centre().1) / pose.module_px()
            };
            let reach = |other: &Pose| match gap(other) {
                0.0 => 150.0,
                // Half of it: the other half is looked at from the other side.
                between => between / 2.0 + 2.0,
            };
            places.extend(searched(grey, pose, way, reach(ahead)));
            places.extend(searched(grey, pose, (-way.0, -way.1), reach(behind)));
        }
    }
    places
}

fn searched(grey: &Grey, pose: &Pose, way: (f64, f64), reach: f64) -> Vec<Pose> {
    let mut best: Vec<(f32, f64, Pose)> = Vec::new();
    let mut along = 24.0;
    while along < reach {
        let mut here: Option<(f32, Pose)> = None;
        for across in -5..=5 {
            let across = f64::from(across) * STEP;
            let mut moved = pose.0;
            moved[0] += way.0 * along - way.1 * across;
            moved[1] += way.1 * along + way.0 * across;
            let moved = Pose(moved);
            let likeness = likeness(grey, &moved);
            if likeness > here.map_or(LEAST, |(best, _)| best) {
                here = Some((likeness, moved));
            }
        }
        if let Some((likeness, moved)) = here {
            match best.last_mut() {
                Some(last) if along - last.1 < 10.0 => {
                    if likeness > last.0 {
                        *last = (likeness, along, moved);
                    }
                }
                _ => best.push((likeness, along, moved)),
            }
        }
        along += STEP;
    }
    best.into_iter().map(|(_, _, pose)| pose).collect()
}

/// Correlation of the corner patterns with the image, from one value for each of their modules.
fn likeness(grey: &Grey, pose: &Pose) -> f32 {
    let (mut n, mut sum, mut squares, mut dark, mut darks) = (0.0_f32, 0.0, 0.0, 0.0, 0.0);
    for (left, top) in [(-1, -1), (13, -1), (-1, 13)] {
        for y in top..top + 9 {
            for x in left..left + 9 {
                let (dx, dy) = (x - left - 4, y - top - 4);
                let is_dark = matches!(i32::max(i32::abs(dx), i32::abs(dy)), 0 | 1 | 3);
                let (px, py) = pose.pixel(f64::from(x) + 0.5, f64::from(y) + 0.5);
                if px < 0.0 || py < 0.0 {
                    return 0.0;
                }
                let (px, py) = (px as usize, py as usize);
                if px >= grey.width as usize || py >= grey.height as usize {
                    return 0.0;
                }
                let value = f32::from(grey.values[py * grey.width as usize + px]);
                n += 1.0;
                sum += value;
                squares += value * value;
                if is_dark {
                    dark += value;
                    darks += 1.0;
                }
            }
        }
    }
    let variance = squares / n - (sum / n).powi(2);
    let share = darks / n;
    let difference = (sum - dark) / (n - darks) - dark / darks;
    if variance < 25.0 { 0.0 } else { difference * (share * (1.0 - share) / variance).sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::Reader;

    fn label(text: &str, x: f32, y: f32, side: f32, turn: f32) -> Found {
        let (sin, cos) = turn.sin_cos();
        let corner = |u: f32, v: f32| {
            let (u, v) = (u * side / 2.0, v * side / 2.0);
            (x + u * cos - v * sin, y + u * sin + v * cos)
        };
        let corners = [corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
        Found::of_text(text.to_owned(), corners, Reader::First)
    }

    fn texts(found: &[Found], rail: &Rail) -> String {
        rail.order.iter().map(|at| found[*at].text.as_str()).collect()
    }

    #[test]
    fn two_rails_are_two_lines_in_order() {
        let mut found: Vec<Found> = (0..5)
            .map(|n| {
                label(&n.to_string(), 900.0 - 70.0 * n as f32, 400.0 + 3.0 * n as f32, 42.0, -0.04)
            })
            .collect();
        found.extend(
            (5..9).map(|n| label(&n.to_string(), 100.0 * n as f32 - 300.0, 150.0, 42.0, 0.02)),
        );
        let rails = rails(&found);
        assert_eq!(rails.len(), 2);
        assert_eq!(texts(&found, &rails[0]), "5678");
        assert_eq!(texts(&found, &rails[1]), "43210");
        assert!((rails[0].pitch_px.unwrap() - 100.0).abs() < 1.0);
        assert!((rails[1].pitch_px.unwrap() - 70.0).abs() < 1.0);
    }

    #[test]
    fn a_rail_held_upside_down_is_read_from_its_own_left() {
        let turn = std::f32::consts::PI;
        let found: Vec<Found> = (0..4)
            .map(|n| label(&n.to_string(), 100.0 + 80.0 * n as f32, 200.0, 40.0, turn))
            .collect();
        assert_eq!(texts(&found, &rails(&found)[0]), "3210");
    }

    #[test]
    fn wide_modules_and_gaps_do_not_change_the_pitch() {
        let at = [0.0, 70.0, 140.0, 280.0, 400.0, 471.0];
        let found: Vec<Found> = at.iter().map(|x| label("x", 50.0 + x, 90.0, 40.0, 0.0)).collect();
        let pitch = rails(&found)[0].pitch_px.unwrap();
        assert!((pitch - 70.3).abs() < 0.5, "{pitch}");
        let two: Vec<Found> = found.into_iter().take(2).collect();
        assert_eq!(rails(&two)[0].pitch_px, None);
    }

    #[test]
    fn a_code_of_another_size_is_no_neighbour() {
        let found = [label("a", 100.0, 100.0, 40.0, 0.0), label("b", 180.0, 100.0, 90.0, 0.0)];
        assert_eq!(rails(&found).len(), 2);
        assert!(rails(&[]).is_empty());
    }
}
