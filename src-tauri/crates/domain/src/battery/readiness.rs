use super::{Battery, Course, Off};

/// How a memory stands up to one power-off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Readiness {
    /// Length of the power-off, h.
    pub needed_h: f64,
    /// Hours that the memory outlasts from its start, as often less as more; infinite without a
    /// back-up drain.
    pub hold_up_h: f64,
    /// The same but for the chance that the site allows.
    pub early_hold_up_h: f64,
    /// Careful hours beyond those needed; below zero where they fall short.
    pub margin_h: f64,
    /// Probability that the memory is lost.
    pub loss_chance: f64,
    /// The chance of loss is not above the one that the site allows.
    pub survives: bool,
}

/// Returns how the memory stands up to a power-off, recorded ones before it counted.
///
/// The power-off itself may stand among the recorded or planned ones of the battery: what comes
/// after its start does not count. One that ends before it starts needs nothing.
pub fn readiness(battery: &Battery<'_>, off: &Off, spent_chance: f64) -> Readiness {
    let course = Course::of(battery);
    let needed_h = super::hours_between(off.from, off.to).max(0.0);
    let early_hold_up_h = course.hold_up_h(off.from, spent_chance);
    let loss_chance = course.chance_uncovered(off.from, needed_h);
    Readiness {
        needed_h,
        hold_up_h: course.hold_up_h(off.from, 0.5),
        early_hold_up_h,
        margin_h: early_hold_up_h - needed_h,
        loss_chance,
        survives: loss_chance <= spent_chance,
    }
}

/// Returns the places in the list in the order in which to change: the likeliest loss first, and of
/// those alike the smallest margin.
///
/// Each change avoids its own chance of loss, so for any number of changes the first of the order
/// avoid the most.
pub fn what_first(list: &[Readiness]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..list.len()).collect();
    order.sort_by(|a, b| {
        let (a, b) = (&list[*a], &list[*b]);
        b.loss_chance.total_cmp(&a.loss_chance).then(a.margin_h.total_cmp(&b.margin_h))
    });
    order
}
