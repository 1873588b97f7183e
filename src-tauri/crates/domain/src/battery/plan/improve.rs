//! Makes a plan that fits cheaper, one group at a time.

use super::fill::Filled;
use super::group::cost_of;
use super::model::Model;
use super::split::Scratch;

impl Filled<'_, '_> {
    /// Plans again each group that costs more than its bound, the one that may gain most first, and
    /// keeps what is cheaper. Returns by how much.
    pub fn replan(&mut self, model: &Model<'_>, bounds: &[f64], scratch: &mut Scratch) -> f64 {
        let over = |filled: &Self, group: usize| {
            cost_of(model, group, &filled.changes[group]) - bounds[group]
        };
        let mut order: Vec<(f64, usize)> = (0..self.changes.len())
            .map(|group| (over(self, group), group))
            .filter(|(over, _)| *over > 1e-6)
            .collect();
        order.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let mut gained = 0.0;
        for (_, group) in order {
            let before = cost_of(model, group, &self.changes[group]);
            let kept = self.take_out(group);
            let placed = self.place(model, group, scratch).is_ok();
            let after = cost_of(model, group, &self.changes[group]);
            if placed && after < before - 1e-6 {
                gained += before - after;
                continue;
            }
            self.take_out(group);
            self.room.add_all(&kept);
            self.changes[group] = kept;
        }
        gained
    }

    /// Lets each battery of a group find a cheaper chain given the others', and leaves out visits
    /// whose batteries are served more cheaply on other days.
    pub fn settle(&mut self, model: &Model<'_>, group: usize, scratch: &mut Scratch) {
        for _ in 0..3 {
            let before = cost_of(model, group, &self.changes[group]);
            for n in 0..self.changes[group].len() {
                let (battery, path) = self.changes[group][n].clone();
                self.room.remove(battery, &path);
                let found = self.insert(model, battery, &[], scratch);
                self.changes[group][n].1 = match found {
                    Some(found) => found,
                    None => {
                        self.room.add(battery, &path);
                        path
                    }
                };
            }
            for place in self.room.visits(group) {
                self.leave_out(model, group, place, scratch);
            }
            if cost_of(model, group, &self.changes[group]) > before - 1e-6 {
                return;
            }
        }
    }

    /// Serves those who are changed on a place on other days, if that is cheaper.
    fn leave_out(&mut self, model: &Model<'_>, group: usize, place: usize, scratch: &mut Scratch) {
        let before = self.changes[group].clone();
        let users: Vec<usize> =
            (0..before.len()).filter(|n| before[*n].1.contains(&place)).collect();
        for n in &users {
            self.room.remove(before[*n].0, &before[*n].1);
        }
        let mut done = Vec::new();
        for n in &users {
            let Some(path) = self.insert(model, before[*n].0, &[place], scratch) else { break };
            self.changes[group][*n].1 = path;
            done.push(*n);
        }
        let cheaper = done.len() == users.len()
            && cost_of(model, group, &self.changes[group]) < cost_of(model, group, &before) - 1e-6;
        if cheaper {
            return;
        }
        for n in done {
            let (battery, path) = &self.changes[group][n];
            self.room.remove(*battery, path);
        }
        for n in users {
            self.room.add(before[n].0, &before[n].1);
        }
        self.changes[group] = before;
    }
}
