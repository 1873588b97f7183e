//! OR-tools CP-SAT through Python, on the same problem.

use chrono::NaiveDate;
use serde_json::{Value, json};
use slotkeep_domain::battery::plan::Problem;
use slotkeep_tests::python::Python;

pub struct Peer {
    python: Option<Python>,
}

pub struct Answer {
    /// With the building of the model; until the plan was as cheap, or patience was over.
    pub seconds: f64,
    pub reached: bool,
    pub best_cents: Option<f64>,
    pub bound_cents: f64,
}

/// One Boolean for each change and day, one for each visit and day; the days of successive changes
/// are tied by their lives.
const SCRIPT: &str = r#"
import json, sys, time
from ortools.sat.python import cp_model
p = json.load(sys.stdin)
start, fixed = time.perf_counter(), 0
model, days, until = cp_model.CpModel(), p["days"], p["until"]
visit, load, cost = {}, {d: [] for d in days}, []
add_up, weigh = cp_model.LinearExpr.sum, cp_model.LinearExpr.weighted_sum
for i, (group, earliest, due, life, minutes, cents, value) in enumerate(p["batteries"]):
    if due >= until:
        continue
    before, first, last = None, max(earliest, 0), due
    # One change more than the fewest that can do.
    count = 2 - (due - until) // life
    for n in range(count):
        window = [d for d in days if first <= d <= min(last, until - 1)]
        if not window:
            break
        on = {d: model.new_bool_var("") for d in window}
        for d, x in on.items():
            if (group, d) not in visit:
                visit[group, d] = model.new_bool_var("")
            model.add_implication(x, visit[group, d])
            load[d].append((x, minutes))
        t = model.new_int_var_from_domain(cp_model.Domain.from_values(window), "")
        early = model.new_int_var(0, 2 * until, "")
        if before is None:
            model.add_exactly_one(on.values())
            model.add(t == weigh(list(on.values()), list(on)))
            model.add(early == due - t)
            needed = None
            fixed += cents
        else:
            needed = model.new_bool_var("")
            t0, needed0 = before
            model.add(add_up(list(on.values())) == needed)
            model.add(t0 + life < until).only_enforce_if(needed)
            if needed0 is None:
                model.add(t0 + life >= until).only_enforce_if(~needed)
            else:
                model.add_implication(needed, needed0)
                model.add(t0 + life >= until).only_enforce_if([~needed, needed0])
            model.add(t == weigh(list(on.values()), list(on))).only_enforce_if(needed)
            model.add(t <= t0 + life).only_enforce_if(needed)
            model.add(t > t0).only_enforce_if(needed)
            model.add(early == t0 + life - t).only_enforce_if(needed)
            cost.append((needed, cents))
        cost.append((early, value))
        before = (t, needed)
        # Nobody changes a battery a year too early; that spares the solver most days.
        first, last = window[0] + max(1, life - 365), last + life
        if n == count - 1:
            ends = model.add(t + life >= until)
            if needed is not None:
                ends.only_enforce_if(needed)
        elif first >= until:
            break
for (group, d), y in visit.items():
    cost.append((y, p["visit"][group]))
    load[d].append((y, p["setup"][group]))
for d, minutes in zip(days, p["minutes"]):
    if load[d]:
        model.add(weigh([x for x, _ in load[d]], [m for _, m in load[d]]) <= minutes)
model.minimize(weigh([x for x, _ in cost], [c for _, c in cost]) + fixed)
class Until(cp_model.CpSolverSolutionCallback):
    def __init__(self):
        super().__init__()
        self.reached = None
    def on_solution_callback(self):
        if self.objective_value <= p["target"] + 0.5 and self.reached is None:
            self.reached = time.perf_counter() - start
            self.stop_search()
solver, watch = cp_model.CpSolver(), Until()
solver.parameters.num_workers = 2
solver.parameters.max_time_in_seconds = max(1.0, p["patience_s"] - (time.perf_counter() - start))
status = solver.solve(model, watch)
found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
print(json.dumps({
    "seconds": watch.reached or time.perf_counter() - start,
    "reached": watch.reached is not None,
    "best": solver.objective_value if found else None,
    "bound": solver.best_objective_bound}))
"#;

impl Peer {
    /// Finds the solver, or makes do without.
    pub fn find() -> Self {
        Self { python: Python::with("bench-solver", &["ortools"], "import ortools.sat") }
    }

    /// How long CP-SAT takes to a plan that costs no more than `target_cents`.
    pub fn reach(&self, problem: &Problem, target_cents: f64, patience_s: u64) -> Option<Answer> {
        let python = self.python.as_ref().filter(|_| patience_s > 0)?;
        let stated = stated(problem, target_cents, patience_s).to_string();
        let output = python.answer(SCRIPT, stated.as_bytes());
        let Ok(answer) = serde_json::from_slice::<Value>(&output) else {
            println!("  CP-SAT gave no answer");
            return None;
        };
        Some(Answer {
            seconds: answer["seconds"].as_f64().unwrap_or_default(),
            reached: answer["reached"].as_bool().unwrap_or_default(),
            best_cents: answer["best"].as_f64(),
            bound_cents: answer["bound"].as_f64().unwrap_or_default(),
        })
    }
}

fn stated(problem: &Problem, target_cents: f64, patience_s: u64) -> Value {
    let day = |date: NaiveDate| (date - problem.today).num_days();
    let whole = |cents: f64| cents as i64;
    json!({
        "until": day(problem.horizon_until),
        "days": problem.crew.iter().map(|crew| day(crew.on)).collect::<Vec<_>>(),
        "minutes": problem.crew.iter().map(|crew| crew.minutes).collect::<Vec<_>>(),
        "visit": problem.groups.iter().map(|g| whole(g.visit_cost_cents)).collect::<Vec<_>>(),
        "setup": problem.groups.iter().map(|group| group.setup_min).collect::<Vec<_>>(),
        "batteries": problem.batteries.iter().map(|b| json!([
            b.group, day(b.earliest), day(b.due_on), b.life_d, b.change_min,
            whole(b.change_cost_cents), whole(b.life_cents_per_d)])).collect::<Vec<_>>(),
        "target": target_cents,
        "patience_s": patience_s,
    })
}
