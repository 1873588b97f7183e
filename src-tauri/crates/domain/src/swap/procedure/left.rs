use super::Act;
use crate::swap::Swap;

/// How the plant stands after the steps that were ticked.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Left {
    /// One sentence for each thing; empty where the steps do not say what they do.
    pub said: Vec<String>,
    /// The old unit has left the slot.
    pub out_is_out: bool,
    /// The new unit stands in the slot.
    pub in_is_in: bool,
}

/// Says how the plant stands, composed from what was ticked.
///
/// `loops` are the tags wired to the slot.
pub fn left(swap: &Swap, loops: &[String]) -> Left {
    let acts = |from: usize, to: usize| {
        swap.plan.steps[from..to].iter().filter_map(|step| step.act).collect::<Vec<Act>>()
    };
    let count = swap.plan.steps.len();
    let ticked = swap.ticks.len().min(count);
    let done = acts(0, ticked);
    let open = acts(ticked, count);
    if done.is_empty() && open.is_empty() {
        return Left::default();
    }
    let stand = Stand { swap, done: &done, open: &open };
    let mut said = stand.unit();
    said.extend(stand.around(loops));
    Left { said, out_is_out: stand.out_is_out(), in_is_in: stand.in_is_in() }
}

struct Stand<'a> {
    swap: &'a Swap,
    done: &'a [Act],
    open: &'a [Act],
}

impl Stand<'_> {
    fn did(&self, act: Act) -> bool {
        self.done.contains(&act)
    }

    fn out_is_out(&self) -> bool {
        self.did(Act::Pull) || self.did(Act::Unmount)
    }

    fn in_is_in(&self) -> bool {
        self.did(Act::Plug) || self.did(Act::Mount)
    }

    /// What is in the slot, and how.
    fn unit(&self) -> Vec<String> {
        let slot = &self.swap.slot;
        let into = self.swap.into.human();
        let out = self.swap.out.map(|out| out.human());
        let mut said = Vec::new();
        if self.in_is_in() {
            said.push(if self.did(Act::Latch) {
                format!("Unit {into} stands in slot {slot}, latched.")
            } else if self.did(Act::Plug) {
                format!(
                    "Unit {into} is plugged in slot {slot}, its latch open: it is switched off."
                )
            } else if self.did(Act::Wire) {
                format!("Unit {into} stands in slot {slot}, wired.")
            } else {
                format!("Unit {into} hangs in slot {slot}, its wiring unplugged.")
            });
            if !self.did(Act::Verify) {
                said.push(format!("Unit {into} was not verified: do not return it to service."));
            }
            if self.open.contains(&Act::LoadProgram) {
                said.push(format!("The program was not loaded into unit {into}."));
            }
        } else if self.out_is_out() {
            let how = if self.did(Act::Unlatch) { ", its base unlatched" } else { "" };
            said.push(format!("Slot {slot} is empty{how}."));
        }
        match out {
            Some(out) if self.out_is_out() => said.push(format!("Unit {out} was taken out.")),
            Some(out) if self.did(Act::Unlatch) => said.push(format!(
                "Unit {out} still stands in slot {slot}, its latch open: it is switched off."
            )),
            Some(out) if self.did(Act::Unwire) => {
                said.push(format!("Unit {out} still hangs in slot {slot}, its wiring unplugged."));
            }
            Some(out) => said.push(format!("Unit {out} still stands in slot {slot}, untouched.")),
            None if !self.in_is_in() => said.push(format!("Slot {slot} is empty, as it was.")),
            None => {}
        }
        said
    }

    /// Bus, supply, loops and partner.
    fn around(&self, loops: &[String]) -> Vec<String> {
        let mut said = Vec::new();
        let rail = self.swap.slot.rail();
        if self.did(Act::TerminatorOff) && !self.did(Act::TerminatorOn) {
            said.push("Bus terminator and end support are off: the bus is open.".to_owned());
        }
        if self.did(Act::Energise) {
            said.push(format!("Rail {rail} is switched on again."));
        } else if self.did(Act::Isolate) {
            said.push(format!("Rail {rail} is still isolated."));
        } else {
            said.push(format!("Rail {rail} is energised."));
        }
        if !self.did(Act::ReturnToService) {
            if self.did(Act::ClearLoops) {
                let tags = if loops.is_empty() {
                    String::new()
                } else {
                    format!(": {}", loops.join(", "))
                };
                said.push(format!("Loops are still in manual or bypass{tags}."));
            }
            if self.did(Act::SafetyRelease) {
                said.push(
                    "The release of the safety function still stands: tell its owner.".to_owned(),
                );
            }
        }
        if self.did(Act::SwitchOver) {
            said.push("The redundant partner carries the function.".to_owned());
        }
        said
    }
}
