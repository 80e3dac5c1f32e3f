//! The plan: what it costs to get the engine running by repairs, and by looks that are followed by a
//! repair where they show what it cures.
//!
//! Step after step the one that gets the engine running with the highest chance for what it costs a
//! machine that it does *not* cure: with one fault and independent steps that order is optimal (Kadane
//! and Simon 1977; Heckerman, Breese and Rommelse 1995), for replace-and-see, where everybody pays for
//! the repair, as for look-then-fix, where the guilty part is paid for in any order. After a repair comes
//! a start attempt, unless it is better to go on first: while the machine is open, or because a try costs
//! more than it is likely to save. The plan stops as soon as that is cheaper than going on.
//!
//! What a look shows beyond its own repair is not made use of, so that anybody can follow such a plan:
//! its cost is an upper bound of what the best possible way costs, and the value that checks are measured
//! against. Taken as it is before the plan begins is what an observation shows, given the same causes.

use super::look::{Bind, Looks};
use super::price::{Few, Prices, RepairPrice, Setups, Toll, few};
use super::sets::CauseSet;
use crate::machine::resolve::MAX_OBSERVATIONS;

/// What may still be saved when a plan ends, against what it has cost: going on for less is not worth
/// the reckoning.
const NEGLIGIBLE: f64 = 1e-3;
/// Steps of a plan, at most.
const LONGEST: usize = 80;
/// Gains are kept up by adding and taking away; what is left of that is no gain.
const NOTHING: f64 = 1e-12;
/// A share of all machines that is not worth being followed for itself.
const TOO_SMALL: f64 = 3e-4;
/// A share that meets a repair after a look and has more wrong with it is set apart only above this.
const SET_APART: f64 = 1e-3;

/// Sets of causes that plans are made for, again and again with other weights.
#[derive(Debug)]
pub(super) struct Sets {
    /// By set: the place of the one that it comes from, among those that looks are laid out for.
    from: Vec<usize>,
    /// By set: its causes, of those of the set that it comes from.
    left: Vec<Few>,
    /// By repair: the places of the sets of which it cures something, and what.
    cured: Vec<Vec<(usize, Few)>>,
}

impl Sets {
    /// Sets as they are.
    pub(super) fn new(sets: &[CauseSet], means: Means) -> Self {
        Sets::left((0..sets.len()).collect(), sets.iter().map(|set| few(*set, *set)).collect(), means)
    }

    /// What is left of sets, and of which: as many as come of each.
    pub(super) fn left(from: Vec<usize>, left: Vec<Few>, means: Means) -> Self {
        let mut cured = vec![Vec::new(); means.prices.repairs.len()];
        for (at, (left, from)) in left.iter().zip(&from).enumerate() {
            for curing in means.looks.curing(*from).iter().filter(|c| c.cures & left != 0) {
                cured[curing.repair].push((at, curing.cures));
            }
        }
        Sets { from, left, cured }
    }

    /// By set: the place of the one that it comes from.
    pub(super) fn from(&self) -> &[usize] {
        &self.from
    }
}

/// Observations as bits, by their places.
pub(super) type Seen = u128;

// A check or a bypass each, and the plain attempt.
const _: () = assert!(MAX_OBSERVATIONS < Seen::BITS as usize);

/// One observation.
pub(super) fn sight(at: usize) -> Seen {
    1 << at
}

/// What a plan is made of.
#[derive(Clone, Copy)]
pub(super) struct Means<'a> {
    pub(super) prices: &'a Prices,
    pub(super) looks: &'a Looks,
}

/// What is known when a plan begins.
#[derive(Clone, Copy)]
pub(super) struct Start<'a> {
    pub(super) sets: &'a Sets,
    /// Weight of each set; they need not sum to 1.
    pub(super) weights: &'a [f64],
    /// What is open.
    pub(super) open: Setups,
    /// The observations that have just been made and will show the same again.
    pub(super) seen: Seen,
    /// The repair that has just been done, with no try after it.
    pub(super) done: Option<usize>,
}

/// Expected cost of the plan.
pub(super) fn expected_cost(means: Means, start: Start) -> f64 {
    let steps = steps(means, start);
    settle(&steps, means.prices.hand_over).0
}

/// What the plan begins with.
#[derive(Debug)]
pub(super) struct Course {
    /// Expected cost of all of it.
    pub(super) cost: f64,
    /// None where handing over is no dearer than anything.
    pub(super) first: Option<Next>,
    /// Whether a try comes next.
    pub(super) then_try: bool,
}

/// The plan as it begins.
pub(super) fn course(means: Means, start: Start) -> Course {
    let steps = steps(means, start);
    let (cost, made) = settle(&steps, means.prices.hand_over);
    let next = |at: usize| steps[..made].get(at).map(|step| step.next);
    Course { cost, first: next(0), then_try: next(1) == Some(Next::Attempt) }
}

/// Where the plan may end, with the chance of each end; [`expected_cost`] is the mean of the costs.
pub(super) fn ends(means: Means, start: Start) -> Vec<End> {
    let steps = steps(means, start);
    let (_, made) = settle(&steps, means.prices.hand_over);
    let mut ends = Vec::with_capacity(made + 1);
    let (mut spent, mut left) = (Toll::default(), 1.0);
    for step in &steps[..made] {
        spent += step.each;
        let cured = spent + step.cured;
        ends.push(End { p: step.runs, cost: cured.cost, minutes: cured.minutes, runs: true });
        spent += step.others;
        left = step.reached - step.runs;
    }
    ends.push(End {
        p: left,
        cost: spent.cost + means.prices.hand_over,
        minutes: spent.minutes,
        runs: false,
    });
    ends
}

/// One way in which everything may end.
#[derive(Debug, Clone)]
pub(super) struct End {
    /// Chance of it.
    pub(super) p: f64,
    /// What it has cost by then; with handing over, if it came to that.
    pub(super) cost: f64,
    /// Minutes at the machine by then.
    pub(super) minutes: f64,
    /// Whether it runs; otherwise it is handed over.
    pub(super) runs: bool,
}

/// A step of the plan.
#[derive(Debug, Clone, Copy)]
struct Step {
    next: Next,
    /// Chance that it comes to it.
    reached: f64,
    /// Chance that it comes to it and runs after it.
    runs: f64,
    /// What it costs everybody.
    each: Toll,
    /// What it costs beyond that on average: who runs then, and who does not.
    cured: Toll,
    others: Toll,
}

impl Step {
    fn cost(&self) -> f64 {
        self.reached * self.each.cost
            + self.runs * self.cured.cost
            + (self.reached - self.runs) * self.others.cost
    }
}

/// Cost of a fixed order of steps, stopping where handing over is cheaper than going on, and how many
/// are made until then.
fn settle(steps: &[Step], hand_over: f64) -> (f64, usize) {
    let left = steps.last().map_or(1.0, |s| s.reached - s.runs);
    let mut rest = left * hand_over;
    let mut made = steps.len();
    for (at, step) in steps.iter().enumerate().rev() {
        rest += step.cost();
        let stop = step.reached * hand_over;
        if stop < rest {
            (rest, made) = (stop, at);
        }
    }
    (rest, made)
}

/// The steps of the plan for as long as going on may pay.
fn steps(means: Means, start: Start) -> Vec<Step> {
    let total: f64 = start.weights.iter().sum();
    if total <= 0.0 {
        return Vec::new();
    }
    // What is left out is taken to go as the rest does.
    let kept: f64 = start.weights.iter().filter(|w| **w > TOO_SMALL * total).sum();
    let weights = start.weights.iter().map(|w| if *w > TOO_SMALL * total { w / kept } else { 0.0 });
    let mut plan = Plan::new(means, start, weights.collect());
    let mut steps: Vec<Step> = Vec::new();
    let mut spent = 0.0;
    while steps.len() < LONGEST
        && plan.alive * means.prices.hand_over > NEGLIGIBLE * spent
        && let Some(next) = plan.next()
    {
        let step = plan.make(next);
        spent += step.cost();
        steps.push(step);
    }
    steps
}

/// Something that a plan does next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Next {
    Attempt,
    Repair(usize),
    Look(usize),
}

/// A repair or a look that may be next.
#[derive(Debug, Clone, Copy)]
struct Choice {
    /// Its place among the gains.
    at: usize,
    setups: Setups,
    /// What it costs a machine that is not cured, with everything open.
    toll: f64,
    /// The same with what is open now.
    cost: f64,
}

/// Machines with the same causes left, while a plan goes on.
#[derive(Debug, Clone, Copy)]
struct Open {
    /// The place of the set that it began with.
    set: usize,
    left: Few,
    weight: f64,
    /// Chance that all repairs done for it so far have taken.
    takes: f64,
}

/// A plan in the making.
struct Plan<'p> {
    means: Means<'p>,
    sets: &'p Sets,
    /// By set as things stand; what a look has set apart comes after that.
    groups: Vec<Open>,
    /// Weights of the groups, as a look finds them.
    weights: Vec<f64>,
    /// Groups of which nothing is left and for which no attempt has been made.
    bare: Vec<usize>,
    /// By repair, then by look: chance that the engine runs after it and not without it, and half of that
    /// for half of the way.
    gains: Vec<f64>,
    /// What may still be done, the repairs first. What gains nothing at the outset never does; a look
    /// shows the same again, and no second look decides on the same repair.
    choices: Vec<Choice>,
    /// Chance that it runs at the next attempt as it is.
    ready: f64,
    /// Chance that it does not run yet.
    alive: f64,
    open: Setups,
}

impl<'p> Plan<'p> {
    fn new(means: Means<'p>, start: Start<'p>, weights: Vec<f64>) -> Self {
        let Start { sets, open, .. } = start;
        let mut plan = Plan {
            means,
            sets,
            groups: Vec::with_capacity(weights.len()),
            bare: Vec::new(),
            weights: Vec::new(),
            gains: vec![0.0; means.looks.tolls.len()],
            choices: Vec::new(),
            ready: 0.0,
            alive: 1.0,
            open,
        };
        for (set, (left, weight)) in sets.left.iter().zip(&weights).enumerate() {
            let group = Open { set, left: *left, weight: *weight, takes: 1.0 };
            plan.groups.push(group);
            if *left == 0 && *weight > 0.0 {
                plan.bare.push(set);
            }
            plan.add(group, *weight);
        }
        plan.weights = weights;
        plan.choices = plan.all_choices(start.seen);
        if let Some(repair) = start.done {
            plan.repair(repair);
        }
        plan
    }

    /// What may be done, but for the looks that have been made.
    fn all_choices(&self, seen: Seen) -> Vec<Choice> {
        let Means { prices, looks } = self.means;
        let (of_repairs, of_looks) = self.gains.split_at(prices.repairs.len());
        let mut choices = Vec::with_capacity(self.gains.len());
        let mut offer = |at: usize, setups: Setups| {
            let toll = looks.tolls[at];
            let cost = toll + prices.opening(setups & !self.open).cost;
            choices.push(Choice { at, setups, toll, cost });
        };
        for (at, repair) in prices.repairs.iter().enumerate().filter(|(at, _)| of_repairs[*at] > NOTHING) {
            offer(at, repair.setups);
        }
        for (l, look) in looks.all.iter().enumerate().filter(|(l, _)| of_looks[*l] > NOTHING) {
            if seen & sight(look.sight) == 0 {
                offer(of_repairs.len() + l, look.setups);
            }
        }
        choices
    }

    /// Enters what is open now.
    fn opened(&mut self, open: Setups) {
        let changed = self.open ^ open;
        if changed == 0 {
            return;
        }
        self.open = open;
        for choice in self.choices.iter_mut().filter(|c| c.setups & changed != 0) {
            choice.cost = choice.toll + self.means.prices.opening(choice.setups & !open).cost;
        }
    }

    /// Enters into the gains what became of a group.
    fn count(&mut self, before: Open, after: Open) {
        let (was, is) = (before.weight * before.takes, after.weight * after.takes);
        if before.left == after.left {
            self.add(after, is - was);
        } else {
            self.add(before, -was);
            self.add(after, is);
        }
    }

    /// Adds to the gains what a group is good for, by its weight.
    fn add(&mut self, group: Open, weight: f64) {
        if weight == 0.0 {
        } else if group.left == 0 {
            self.ready += weight;
        } else {
            for credit in self.means.looks.credits(self.sets.from[group.set], group.left) {
                self.gains[credit.to] += weight * credit.gain;
            }
        }
    }

    /// The next step; none where nothing is left that could help.
    fn next(&self) -> Option<Next> {
        let prices = self.means.prices;
        let mut most: Option<(f64, &Choice)> = None;
        for choice in &self.choices {
            let gain = self.gains[choice.at];
            if gain > NOTHING && most.is_none_or(|(g, c)| gain * c.cost > g * choice.cost) {
                most = Some((gain, choice));
            }
        }
        let best = most.map(|(gain, choice)| {
            let look = choice.at.checked_sub(prices.repairs.len());
            (look.map_or(Next::Repair(choice.at), Next::Look), gain, choice.cost, choice.setups)
        });
        // No step to come gets more running for the money. At that rate what is alive, A, costs at least
        // A^2 * cost / (2 * gain) to get running, and to stop on the way is no better than one of both ends:
        // so where that is more than A times handing over, going on does not pay.
        let saves = |gain: f64, cost: f64| self.alive * cost <= 2.0 * gain * prices.hand_over;
        let best = best.filter(|(_, gain, cost, _)| saves(*gain, *cost)).map(|best| match best {
            (Next::Look(l), gain, cost, _) => self.unlooked(l, gain, cost).unwrap_or(best),
            best => best,
        });
        if self.ready <= NOTHING {
            return best.map(|(next, ..)| next);
        }
        let Some((next, gain, cost, setups)) = best else { return Some(Next::Attempt) };
        // What an attempt first would have to open again.
        let again = prices.opening(setups & self.open).cost;
        let others = (self.alive - self.ready).max(0.0);
        let first = match next {
            // Its own attempt serves for both.
            Next::Repair(_) => {
                self.ready * (cost - prices.attempt.cost) >= others * (prices.attempt.cost + again)
            }
            _ => self.ready * cost >= gain * prices.attempt.cost + others * again,
        };
        Some(if first { Next::Attempt } else { next })
    }

    /// The repair that a look leads to, where doing it without looking gets more machines running for the money.
    /// Who is cured by it pays for it either way, so this says nothing of when its turn comes.
    fn unlooked(&self, look: usize, gain: f64, cost: f64) -> Option<(Next, f64, f64, Setups)> {
        let (prices, look) = (self.means.prices, &self.means.looks.all[look]);
        let cured = (gain / self.alive).min(1.0);
        let mut best = None;
        for bind in &look.binds {
            let RepairPrice { toll, setups, .. } = &prices.repairs[bind.repair];
            let looked = cost + cured * (bind.toll.cost - look.innocent);
            let (at_once, price) = (
                self.gains[bind.repair],
                toll.cost + prices.attempt.cost + prices.opening(setups & !self.open).cost,
            );
            let better = |(_, g, c, _): &(Next, f64, f64, Setups)| at_once * c > g * price;
            if at_once * looked >= gain * price && best.as_ref().is_none_or(better) {
                best = Some((Next::Repair(bind.repair), at_once, price, *setups));
            }
        }
        best
    }

    fn make(&mut self, next: Next) -> Step {
        let reached = self.alive;
        let prices = self.means.prices;
        let nothing = Toll::default();
        let (each, cured, others) = match next {
            Next::Attempt => {
                self.attempt();
                (prices.attempt, nothing, nothing)
            }
            Next::Repair(r) => {
                let RepairPrice { toll, setups, .. } = &prices.repairs[r];
                let toll = *toll + prices.opening(setups & !self.open);
                self.opened(self.open | setups);
                self.repair(r);
                (toll, nothing, nothing)
            }
            Next::Look(l) => {
                let look = &self.means.looks.all[l];
                let toll = look.toll + prices.opening(look.setups & !self.open);
                self.opened(if look.closes { 0 } else { self.open | look.setups });
                let (cured, others) = self.look(l);
                (toll, cured, others)
            }
        };
        Step { next, reached, runs: reached - self.alive, each, cured, others }
    }

    fn attempt(&mut self) {
        for at in std::mem::take(&mut self.bare) {
            let group = self.groups[at];
            let runs = group.weight * group.takes;
            self.alive -= runs;
            // A repair did not take: everything is as it was, and may be done again.
            let left = self.sets.left[group.set];
            let weight = if left == 0 { 0.0 } else { group.weight - runs };
            self.groups[at] = Open { left, weight, takes: 1.0, ..group };
            self.count(group, self.groups[at]);
        }
        self.ready = 0.0;
        self.opened(0);
    }

    /// Does a repair; whether it took, only an attempt tells.
    fn repair(&mut self, repair: usize) {
        let takes = self.means.prices.repairs[repair].takes;
        self.cured(repair, self.groups.len(), |plan, at, cures| {
            let group = plan.groups[at];
            let left = group.left & !cures;
            if left != group.left && group.weight > 0.0 {
                if left == 0 {
                    plan.bare.push(at);
                }
                plan.groups[at] = Open { left, takes: group.takes * takes, ..group };
                plan.count(group, plan.groups[at]);
            }
        });
    }

    /// Goes through those of the first groups of which a repair cures something, or did, with what it cures.
    fn cured(&mut self, repair: usize, groups: usize, mut work: impl FnMut(&mut Self, usize, Few)) {
        let sets = self.sets;
        for (at, cures) in &sets.cured[repair] {
            work(self, *at, *cures);
        }
        for at in sets.left.len()..groups {
            let curing = self.means.looks.curing(sets.from[self.groups[at].set]);
            if let Some(curing) = curing.iter().find(|c| c.repair == repair) {
                work(self, at, curing.cures);
            }
        }
    }

    /// Makes a look: what follows it costs those who run then, and the others, on average.
    fn look(&mut self, look: usize) -> (Toll, Toll) {
        let (looks, prices) = (self.means.looks, self.means.prices);
        let made = &looks.all[look];
        let still = |l: usize| l != look && !made.overlaps(&looks.all[l]);
        self.choices.retain(|c| c.at.checked_sub(prices.repairs.len()).is_none_or(still));
        // Every bind takes its share of what the look finds; what the others have taken apart is not among it.
        self.weights.clear();
        self.weights.extend(self.groups.iter().map(|g| g.weight));
        let (mut all, mut cured, mut runs) = (Toll::default(), Toll::default(), 0.0);
        for group in &self.groups {
            all += made.burden[self.sets.from[group.set]] * group.weight;
        }
        for bind in &made.binds {
            let takes = prices.repairs[bind.repair].takes;
            let mut run = 0.0;
            // Nothing was left before: the attempt tells.
            for at in 0..self.bare.len() {
                run += self.met(self.bare[at], bind, 1.0);
            }
            self.cured(bind.repair, self.weights.len(), |plan, at, cures| {
                let left = plan.groups[at].left;
                match left & !cures {
                    rest if rest == left => {}
                    0 => run += plan.met(at, bind, takes),
                    rest => plan.split(at, bind, takes, rest),
                }
            });
            cured += bind.toll * run;
            runs += run;
        }
        let before = self.alive;
        self.alive = (before - runs).max(0.0);
        let others = all + cured * -1.0;
        let mean = |toll: Toll, of: f64| if of > NOTHING { toll * (1.0 / of) } else { Toll::default() };
        (mean(cured, before - self.alive), mean(others, self.alive))
    }

    /// Takes those away who meet a repair after a look, and run after it; and who they are.
    fn met(&mut self, at: usize, bind: &Bind, took: f64) -> f64 {
        let group = self.groups[at];
        let run = (self.weights[at] * bind.chance[self.sets.from[group.set]] * group.takes * took)
            .min(group.weight);
        self.groups[at].weight -= run;
        self.count(group, self.groups[at]);
        run
    }

    /// Sets those apart for whom a repair after a look takes, and something is left.
    fn split(&mut self, at: usize, bind: &Bind, takes: f64, rest: Few) {
        let group = self.groups[at];
        let met = self.weights[at] * bind.chance[self.sets.from[group.set]];
        if met > SET_APART {
            let apart = Open { left: rest, weight: (met * takes).min(group.weight), ..group };
            self.groups[at].weight -= apart.weight;
            self.count(group, self.groups[at]);
            self.groups.push(apart);
            self.count(Open { weight: 0.0, ..apart }, apart);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Five faults of trade literature G.7: p = .40 .25 .20 .10 .05, c = 60 5 20 15 2.
    const P: [f64; 5] = [0.40, 0.25, 0.20, 0.10, 0.05];
    const C: [f64; 5] = [60.0, 5.0, 20.0, 15.0, 2.0];

    fn repair(cures: CauseSet, takes: f64, cost: f64) -> RepairPrice {
        RepairPrice { cures, takes, toll: Toll { cost, minutes: 2.0 * cost }, setups: 0 }
    }

    /// Expected cost of repairs alone.
    fn of_repairs(prices: &Prices, sets: Vec<CauseSet>, weights: &[f64]) -> f64 {
        let means = Means { prices, looks: &Looks::none(prices, &sets) };
        expected_cost(means, Start { sets: &Sets::new(&sets, means), weights, open: 0, seen: 0, done: None })
    }

    fn prices(hand_over: f64) -> Prices {
        let repair = |(i, c): (usize, &f64)| repair(1 << i, 1.0, *c);
        let attempt = Toll { cost: 0.0, minutes: 1.0 };
        Prices::new(C.iter().enumerate().map(repair).collect(), attempt, hand_over, Vec::new())
    }

    fn cost(hand_over: f64) -> f64 {
        let sets: Vec<CauseSet> = (0..5).map(|i| 1 << i).collect();
        of_repairs(&prices(hand_over), sets, &P)
    }

    #[test]
    fn the_order_by_chance_over_cost_is_the_best_of_all_orders() {
        // Kadane and Simon 1977 (theorem): decreasing p/c minimises expected cost. 52.00 is the best
        // of all 120 orders, found by trying them here.
        let mut best = f64::INFINITY;
        halfsplit_bayes::for_each_configuration(&[5; 5], |order| {
            if (0..5).all(|i| order.contains(&i)) {
                let mut left = 1.0;
                let mut sum = 0.0;
                for i in order {
                    sum += left * C[*i];
                    left -= P[*i];
                }
                best = best.min(sum);
            }
        });
        assert!((best - 52.0).abs() < 1e-9);
        assert!((cost(1e9) - best).abs() < 1e-6);
    }

    #[test]
    fn a_call_out_cuts_the_list_short() {
        // With a call-out that always cures at 30 or 60 the best lists cost 27.50 and 48.50: by
        // trying all lists (the same example).
        assert!((cost(30.0) - 27.5).abs() < 1e-9);
        assert!((cost(60.0) - 48.5).abs() < 1e-9);
    }

    #[test]
    fn the_ends_of_a_list_are_where_each_fault_is_met() {
        // The same example by hand: with a call-out at 30 the best list is 2, 5, then the call-out
        // (.25 * 5 + .05 * 7 + .70 * 37 = 27.50). A repair takes twice its price in minutes here and
        // an attempt one minute.
        let sets: Vec<CauseSet> = (0..5).map(|i| 1 << i).collect();
        let means = Means { prices: &prices(30.0), looks: &Looks::none(&prices(30.0), &sets) };
        let start = Start { sets: &Sets::new(&sets, means), weights: &P, open: 0, seen: 0, done: None };
        let ends = ends(means, start);
        let ends: Vec<&End> = ends.iter().filter(|e| e.p > 0.0).collect();
        let expected = [(0.25, 5.0, 11.0, true), (0.05, 7.0, 16.0, true), (0.70, 37.0, 16.0, false)];
        assert_eq!(ends.len(), expected.len(), "{ends:?}");
        for (end, (p, cost, minutes, runs)) in ends.iter().zip(expected) {
            assert!((end.p - p).abs() < 1e-12 && (end.cost - cost).abs() < 1e-12, "{end:?}");
            assert!((end.minutes - minutes).abs() < 1e-12 && end.runs == runs, "{end:?}");
        }
    }

    #[test]
    fn two_causes_at_once_need_two_repairs() {
        let both = of_repairs(&prices(1e9), vec![0b00011], &[1.0]);
        assert!((both - 65.0).abs() < 1e-9, "{both}");
        let nothing_wrong = of_repairs(&prices(1e9), vec![0], &[1.0]);
        assert!(nothing_wrong.abs() < 1e-12, "an attempt is free here: {nothing_wrong}");
    }

    #[test]
    fn a_repair_that_did_not_take_is_done_again() {
        // Each time it takes with .8, so it takes 1/.8 times on average: 12 / .8 = 15. What is negligible may
        // be missing.
        let attempt = Toll { cost: 2.0, minutes: 1.0 };
        let prices = Prices::new(vec![repair(1, 0.8, 10.0)], attempt, 100.0, Vec::new());
        let cost = of_repairs(&prices, vec![1], &[1.0]);
        assert!((cost - 15.0).abs() < 15.0 * NEGLIGIBLE, "{cost}");
    }
}
