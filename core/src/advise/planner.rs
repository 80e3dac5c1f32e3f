//! The planner: it builds a plan step by step, each time with the largest gain for its cost.

use super::belief::{BeliefState, CauseSets, ObservationSet, PlanContext, observation_bit};
use super::cost::{Cost, RepairCost, Setups, Subset};
use super::observe_repair::TargetedRepair;

/// Gains are kept up to date by adding and subtracting. A smaller gain is rounding error.
const NOTHING: f64 = 1e-12;
/// Minimum share of a group of its own: machines for which a targeted repair takes and another cause is left.
const OWN_GROUP: f64 = 1e-3;

/// The next action of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum PlanAction {
    /// A plain start attempt.
    Attempt,
    /// A repair, by its place.
    Repair(usize),
    /// An observation followed by a repair, by its place.
    ObserveRepair(usize),
}

/// A step of a plan.
#[derive(Debug, Clone, Copy)]
pub(super) struct PlanStep {
    pub(super) action: PlanAction,
    /// Chance that the plan reaches the step.
    pub(super) reached: f64,
    /// Chance that the plan reaches the step, and the engine runs after it.
    pub(super) runs: f64,
    /// Cost for every machine.
    pub(super) each: Cost,
    /// Expected further cost for a machine that runs after the step.
    pub(super) cured: Cost,
    /// Expected further cost for a machine that does not run after the step.
    pub(super) others: Cost,
}

impl PlanStep {
    /// Expected cost in money.
    pub(super) fn cost(&self) -> f64 {
        self.reached * self.each.money
            + self.runs * self.cured.money
            + (self.reached - self.runs) * self.others.money
    }
}

/// A repair or an observation that may come next.
#[derive(Debug, Clone, Copy)]
struct PlanOption {
    /// Its place among the gains.
    at: usize,
    setups: Setups,
    /// Cost for a machine that it does not cure, without set-up work.
    without_setups: f64,
    /// Cost for a machine that it does not cure, with the set-up work that is not open.
    cost: f64,
}

/// Machines with the same causes left.
#[derive(Debug, Clone, Copy)]
struct Group {
    /// The place of the set that it began with.
    set: usize,
    left: Subset,
    weight: f64,
    /// Chance that all repairs done for it since the last attempt have taken.
    takes: f64,
}

/// An action with its figures.
struct Next {
    action: PlanAction,
    gain: f64,
    cost: f64,
    setups: Setups,
}

/// A plan that is being built.
pub(super) struct Planner<'p> {
    context: PlanContext<'p>,
    sets: &'p CauseSets,
    /// One group for each set, then the groups that observations have split off.
    groups: Vec<Group>,
    /// Weights of the groups before an observation.
    weights: Vec<f64>,
    /// Groups of which no cause is left and for which no attempt has been made.
    cured: Vec<usize>,
    /// By repair, then by observation: chance that the engine runs after it and not without it, and half of the
    /// chance to cure one of several causes.
    gains: Vec<f64>,
    /// The options that are left, repairs first. A step without a gain at the start never gets one. An
    /// observation made again shows the same, and no two observations of a plan decide on the same repair.
    options: Vec<PlanOption>,
    /// Chance that the engine runs at the next attempt.
    ready: f64,
    /// Chance that the engine does not run yet.
    alive: f64,
    open: Setups,
}

impl<'p> Planner<'p> {
    /// A plan without steps. `weights` sum to 1.
    pub(super) fn new(context: PlanContext<'p>, belief: BeliefState<'p>, weights: Vec<f64>) -> Self {
        let BeliefState { sets, open, .. } = belief;
        let mut planner = Planner {
            context,
            sets,
            groups: Vec::with_capacity(weights.len()),
            cured: Vec::new(),
            weights: Vec::new(),
            gains: vec![0.0; context.observe_repairs.uncured_costs.len()],
            options: Vec::new(),
            ready: 0.0,
            alive: 1.0,
            open,
        };
        for (set, (left, weight)) in sets.left.iter().zip(&weights).enumerate() {
            let group = Group { set, left: *left, weight: *weight, takes: 1.0 };
            planner.groups.push(group);
            if *left == 0 && *weight > 0.0 {
                planner.cured.push(set);
            }
            planner.add_gains(group, *weight);
        }
        planner.weights = weights;
        planner.options = planner.all_options(belief.seen);
        if let Some(repair) = belief.done {
            planner.repair(repair);
        }
        planner
    }

    /// Chance that the engine does not run yet.
    pub(super) fn alive(&self) -> f64 {
        self.alive
    }

    /// Every step with a gain, without the observations that have been made.
    fn all_options(&self, seen: ObservationSet) -> Vec<PlanOption> {
        let PlanContext { costs, observe_repairs } = self.context;
        let (of_repairs, of_observations) = self.gains.split_at(costs.repairs.len());
        let mut options = Vec::with_capacity(self.gains.len());
        let mut offer = |at: usize, setups: Setups| {
            let without_setups = observe_repairs.uncured_costs[at];
            let cost = without_setups + costs.opening(setups & !self.open).money;
            options.push(PlanOption { at, setups, without_setups, cost });
        };
        for (at, repair) in costs.repairs.iter().enumerate().filter(|(at, _)| of_repairs[*at] > NOTHING) {
            offer(at, repair.setups);
        }
        let observations = observe_repairs.all.iter().enumerate();
        for (o, observe) in observations.filter(|(o, _)| of_observations[*o] > NOTHING) {
            if seen & observation_bit(observe.observation) == 0 {
                offer(of_repairs.len() + o, observe.setups);
            }
        }
        options
    }

    /// Records the set-up work that is open now.
    fn set_open(&mut self, open: Setups) {
        let changed = self.open ^ open;
        if changed == 0 {
            return;
        }
        self.open = open;
        for option in self.options.iter_mut().filter(|o| o.setups & changed != 0) {
            option.cost = option.without_setups + self.context.costs.opening(option.setups & !open).money;
        }
    }

    /// Updates the gains after a change of a group.
    fn update_gains(&mut self, before: Group, after: Group) {
        let (was, is) = (before.weight * before.takes, after.weight * after.takes);
        if before.left == after.left {
            self.add_gains(after, is - was);
        } else {
            self.add_gains(before, -was);
            self.add_gains(after, is);
        }
    }

    /// Adds the gains of a group, times a weight.
    fn add_gains(&mut self, group: Group, weight: f64) {
        if weight == 0.0 {
        } else if group.left == 0 {
            self.ready += weight;
        } else {
            for gain in self.context.observe_repairs.gains(self.sets.from[group.set], group.left) {
                self.gains[gain.of] += weight * gain.gain;
            }
        }
    }

    /// The next action; none where nothing that is left pays.
    pub(super) fn next(&self) -> Option<PlanAction> {
        let costs = self.context.costs;
        let best = self.best_option();
        if self.ready <= NOTHING {
            return best.map(|next| next.action);
        }
        let Some(Next { action, gain, cost, setups }) = best else { return Some(PlanAction::Attempt) };
        // Cost of the set-up work that an attempt before the action would close.
        let again = costs.opening(setups & self.open).money;
        let others = (self.alive - self.ready).max(0.0);
        let attempt_first = match action {
            // The attempt after the repair serves for both.
            PlanAction::Repair(_) => {
                self.ready * (cost - costs.attempt.money) >= others * (costs.attempt.money + again)
            }
            _ => self.ready * cost >= gain * costs.attempt.money + others * again,
        };
        Some(if attempt_first { PlanAction::Attempt } else { action })
    }

    /// The repair or observation with the largest gain for its cost, if it pays.
    fn best_option(&self) -> Option<Next> {
        let costs = self.context.costs;
        let mut most: Option<(f64, &PlanOption)> = None;
        for option in &self.options {
            let gain = self.gains[option.at];
            if gain > NOTHING && most.is_none_or(|(g, o)| gain * o.cost > g * option.cost) {
                most = Some((gain, option));
            }
        }
        let (gain, option) = most?;
        // No later step has a larger gain for its cost. At that rate the machines alive, A, cost at least
        // A^2 * cost / (2 * gain) to get running, and stopping on the way is no better than stopping at one
        // of both ends. So if that is more than A times handing over, continuing does not pay.
        if self.alive * option.cost > 2.0 * gain * costs.hand_over {
            return None;
        }
        let observation = option.at.checked_sub(costs.repairs.len());
        let action = observation.map_or(PlanAction::Repair(option.at), PlanAction::ObserveRepair);
        let best = Next { action, gain, cost: option.cost, setups: option.setups };
        Some(match observation {
            Some(at) => self.repair_at_once(at, &best).unwrap_or(best),
            None => best,
        })
    }

    /// The repair that an observation points to, if doing it without the observation has a larger gain for its cost.
    /// Every machine that it cures pays for it either way, so this does not decide when its turn comes.
    fn repair_at_once(&self, observation: usize, next: &Next) -> Option<Next> {
        let PlanContext { costs, observe_repairs } = self.context;
        let observe = &observe_repairs.all[observation];
        let cured = (next.gain / self.alive).min(1.0);
        let mut best: Option<Next> = None;
        for targeted in &observe.repairs {
            let RepairCost { cost, setups, .. } = &costs.repairs[targeted.repair];
            let observed = next.cost + cured * (targeted.cost.money - observe.uncured_cost);
            let gain = self.gains[targeted.repair];
            let cost = cost.money + costs.attempt.money + costs.opening(setups & !self.open).money;
            if gain * observed >= next.gain * cost
                && best.as_ref().is_none_or(|b| gain * b.cost > b.gain * cost)
            {
                let action = PlanAction::Repair(targeted.repair);
                best = Some(Next { action, gain, cost, setups: *setups });
            }
        }
        best
    }

    /// Takes an action.
    pub(super) fn take(&mut self, action: PlanAction) -> PlanStep {
        let reached = self.alive;
        let costs = self.context.costs;
        let nothing = Cost::default();
        let (each, cured, others) = match action {
            PlanAction::Attempt => {
                self.attempt();
                (costs.attempt, nothing, nothing)
            }
            PlanAction::Repair(r) => {
                let RepairCost { cost, setups, .. } = &costs.repairs[r];
                let cost = *cost + costs.opening(setups & !self.open);
                self.set_open(self.open | setups);
                self.repair(r);
                (cost, nothing, nothing)
            }
            PlanAction::ObserveRepair(o) => {
                let observe = &self.context.observe_repairs.all[o];
                let cost = observe.cost + costs.opening(observe.setups & !self.open);
                self.set_open(if observe.closes { 0 } else { self.open | observe.setups });
                let (cured, others) = self.observe_repair(o);
                (cost, cured, others)
            }
        };
        PlanStep { action, reached, runs: reached - self.alive, each, cured, others }
    }

    fn attempt(&mut self) {
        for at in std::mem::take(&mut self.cured) {
            let group = self.groups[at];
            let runs = group.weight * group.takes;
            self.alive -= runs;
            // Where a repair did not take, the causes are as they were, and the repair may be done again.
            let left = self.sets.left[group.set];
            let weight = if left == 0 { 0.0 } else { group.weight - runs };
            self.groups[at] = Group { left, weight, takes: 1.0, ..group };
            self.update_gains(group, self.groups[at]);
        }
        self.ready = 0.0;
        self.set_open(0);
    }

    /// Does a repair. Only an attempt shows whether it took.
    fn repair(&mut self, repair: usize) {
        let takes = self.context.costs.repairs[repair].takes;
        self.each_cured(repair, self.groups.len(), |planner, at, cures| {
            let group = planner.groups[at];
            let left = group.left & !cures;
            if left != group.left && group.weight > 0.0 {
                if left == 0 {
                    planner.cured.push(at);
                }
                planner.groups[at] = Group { left, takes: group.takes * takes, ..group };
                planner.update_gains(group, planner.groups[at]);
            }
        });
    }

    /// Visits those of the first `groups` groups of which a repair cures something, or has cured something, with
    /// what it cures.
    fn each_cured(&mut self, repair: usize, groups: usize, mut visit: impl FnMut(&mut Self, usize, Subset)) {
        let sets = self.sets;
        for (at, cures) in &sets.cured[repair] {
            visit(self, *at, *cures);
        }
        for at in sets.left.len()..groups {
            let cures = self.context.observe_repairs.cures(sets.from[self.groups[at].set]);
            if let Some(cure) = cures.iter().find(|c| c.repair == repair) {
                visit(self, at, cure.cures);
            }
        }
    }

    /// Makes an observation and does the repair that its result points to. Returns the expected cost of what follows
    /// the observation, for machines that run then and for the others.
    fn observe_repair(&mut self, at: usize) -> (Cost, Cost) {
        let PlanContext { costs, observe_repairs } = self.context;
        let made = &observe_repairs.all[at];
        let still = |o: usize| o != at && !made.overlaps(&observe_repairs.all[o]);
        self.options.retain(|option| option.at.checked_sub(costs.repairs.len()).is_none_or(still));
        // Every targeted repair takes its share of the machines as the observation finds them.
        self.weights.clear();
        self.weights.extend(self.groups.iter().map(|g| g.weight));
        let (mut all, mut cured, mut runs) = (Cost::default(), Cost::default(), 0.0);
        for group in &self.groups {
            all += made.follow_up[self.sets.from[group.set]] * group.weight;
        }
        for targeted in &made.repairs {
            let takes = costs.repairs[targeted.repair].takes;
            let mut run = 0.0;
            // No cause was left before, so the attempt shows it.
            for at in 0..self.cured.len() {
                run += self.run(self.cured[at], targeted, 1.0);
            }
            self.each_cured(targeted.repair, self.weights.len(), |planner, at, cures| {
                let left = planner.groups[at].left;
                match left & !cures {
                    rest if rest == left => {}
                    0 => run += planner.run(at, targeted, takes),
                    rest => planner.split(at, targeted, takes, rest),
                }
            });
            cured += targeted.cost * run;
            runs += run;
        }
        let before = self.alive;
        self.alive = (before - runs).max(0.0);
        let others = all + cured * -1.0;
        let mean = |cost: Cost, of: f64| if of > NOTHING { cost * (1.0 / of) } else { Cost::default() };
        (mean(cured, before - self.alive), mean(others, self.alive))
    }

    /// Removes the machines of a group that run after a targeted repair. Returns their weight.
    fn run(&mut self, at: usize, targeted: &TargetedRepair, takes: f64) -> f64 {
        let group = self.groups[at];
        let met = self.weights[at] * targeted.chance[self.sets.from[group.set]];
        let run = (met * group.takes * takes).min(group.weight);
        self.groups[at].weight -= run;
        self.update_gains(group, self.groups[at]);
        run
    }

    /// Splits off the machines of a group for which a targeted repair takes and some cause is left.
    fn split(&mut self, at: usize, targeted: &TargetedRepair, takes: f64, rest: Subset) {
        let group = self.groups[at];
        let met = self.weights[at] * targeted.chance[self.sets.from[group.set]];
        if met > OWN_GROUP {
            let apart = Group { left: rest, weight: (met * takes).min(group.weight), ..group };
            self.groups[at].weight -= apart.weight;
            self.update_gains(group, self.groups[at]);
            self.groups.push(apart);
            self.update_gains(Group { weight: 0.0, ..apart }, apart);
        }
    }
}
