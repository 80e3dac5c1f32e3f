//! The repair plan: what it costs to get the engine running by repairs alone.
//!
//! Repair after repair with a start attempt after each, always the one with the highest chance of
//! success for its cost, re-ranked after every failure, and handing over as soon as that is cheaper
//! than going on. With one fault and independent repairs this order is optimal (Kadane and Simon
//! 1977; Heckerman, Breese and Rommelse 1995); with several faults at once it is an upper bound of
//! the optimum, and the value that checks are measured against.

use super::sets::CauseSet;

/// Prices of everything that a plan can do, in money.
pub(super) struct Prices {
    /// Repairs that can be done with the kit.
    pub(super) repairs: Vec<RepairPrice>,
    /// One plain attempt.
    pub(super) attempt: f64,
    /// Its minutes.
    pub(super) attempt_minutes: f64,
    /// Handing over.
    pub(super) hand_over: f64,
    /// By condition: the repairs that cure it.
    curing: Vec<Vec<usize>>,
}

impl Prices {
    pub(super) fn new(repairs: Vec<RepairPrice>, attempt: f64, attempt_minutes: f64, hand_over: f64) -> Self {
        let all = repairs.iter().fold(0, |all, r| all | r.cures);
        let conditions = (CauseSet::BITS - all.leading_zeros()) as usize;
        let curing = (0..conditions)
            .map(|c| (0..repairs.len()).filter(|r| repairs[*r].cures >> c & 1 == 1).collect())
            .collect();
        Prices { repairs, attempt, attempt_minutes, hand_over, curing }
    }
}

/// A repair as the plan sees it.
#[derive(Debug, Clone)]
pub(super) struct RepairPrice {
    /// Conditions that it makes good.
    pub(super) cures: CauseSet,
    /// Chance that it takes.
    pub(super) takes: f64,
    /// Cost of the repair without the attempt after it.
    pub(super) cost: f64,
    /// Its minutes, without the attempt after it.
    pub(super) minutes: f64,
}

/// A set of causes with its weight while a plan goes on.
struct Open {
    left: CauseSet,
    weight: f64,
    /// Chance that all repairs done for it so far have taken.
    takes: f64,
    tried: bool,
}

impl Prices {
    /// Repairs that finish what is left of a set. There are few for any one condition, so going by
    /// the first condition left keeps this short.
    fn finishing(&self, left: CauseSet) -> impl Iterator<Item = usize> {
        self.curing(left).iter().copied().filter(move |r| left & !self.repairs[*r].cures == 0)
    }

    /// Repairs that cure the first condition of a set.
    fn curing(&self, left: CauseSet) -> &[usize] {
        self.curing.get(left.trailing_zeros() as usize).map_or(&[], Vec::as_slice)
    }
}

/// Sets of causes that plans are made for, again and again with other weights.
pub(super) struct Sets {
    sets: Vec<CauseSet>,
    /// By condition: the places of the sets that contain it.
    containing: Vec<Vec<usize>>,
}

impl Sets {
    pub(super) fn new(sets: Vec<CauseSet>) -> Self {
        let all = sets.iter().fold(0, |all, s| all | s);
        let places_of = |c| (0..sets.len()).filter(|at| sets[*at] >> c & 1 == 1).collect();
        let containing = (0..CauseSet::BITS - all.leading_zeros()).map(places_of).collect();
        Sets { sets, containing }
    }

    pub(super) fn as_slice(&self) -> &[CauseSet] {
        &self.sets
    }
}

/// The conditions of a set, by place.
pub(super) fn conditions(mut set: CauseSet) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let first = (set != 0).then(|| set.trailing_zeros() as usize);
        set &= set.wrapping_sub(1);
        first
    })
}

/// Expected cost of the plan. `weights` belong to `sets` and need not sum to 1.
pub(super) fn expected_cost(prices: &Prices, sets: &Sets, weights: &[f64]) -> f64 {
    let (steps, left) = steps(prices, sets, weights);
    settle(&steps, left, prices.hand_over).0
}

/// Where the plan may end, with the chance of each end; the arguments are those of [`expected_cost`],
/// which is the mean of the costs.
pub(super) fn ends(prices: &Prices, sets: &Sets, weights: &[f64]) -> Vec<End> {
    let (steps, left) = steps(prices, sets, weights);
    let (_, made) = settle(&steps, left, prices.hand_over);
    let reached = |at: usize| steps.get(at).map_or(left, |s| s.reached);
    let mut ends = Vec::with_capacity(made + 1);
    let (mut cost, mut minutes) = (0.0, 0.0);
    for (at, step) in steps[..made].iter().enumerate() {
        cost += step.cost;
        minutes += prices.attempt_minutes + step.repair.map_or(0.0, |r| prices.repairs[r].minutes);
        ends.push(End { p: step.reached - reached(at + 1), cost, minutes, runs: true });
    }
    ends.push(End { p: reached(made), cost: cost + prices.hand_over, minutes, runs: false });
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

/// A step of the plan: a repair and an attempt, or (none) an attempt.
struct Step {
    repair: Option<usize>,
    /// Chance that it comes to it.
    reached: f64,
    cost: f64,
}

/// The steps of the plan for as long as going on may pay, and the chance that it does not run after
/// the last.
fn steps(prices: &Prices, sets: &Sets, weights: &[f64]) -> (Vec<Step>, f64) {
    let total: f64 = weights.iter().sum();
    if total <= 0.0 {
        return (Vec::new(), 1.0);
    }
    let mut plan = Plan::new(prices, sets, weights, total);
    let mut steps = Vec::new();
    loop {
        let reached = plan.alive;
        let Some((repair, cost)) = plan.best_step() else {
            return (steps, reached);
        };
        steps.push(Step { repair, reached, cost });
        plan.act(repair);
    }
}

/// A plan in the making.
struct Plan<'p> {
    prices: &'p Prices,
    sets: &'p Sets,
    open: Vec<Open>,
    /// Places of the sets of which nothing is left and for which no attempt has been made.
    bare: Vec<usize>,
    /// By repair: chance that the engine runs after it and not without it.
    gains: Vec<f64>,
    /// By repair: chance of all sets that it does something for.
    touches: Vec<f64>,
    /// Chance that it runs at the next attempt as it is.
    ready: f64,
    /// Chance that it does not run yet, of what is listed.
    alive: f64,
}

impl<'p> Plan<'p> {
    fn new(prices: &'p Prices, sets: &'p Sets, weights: &[f64], total: f64) -> Self {
        let open: Vec<Open> = sets
            .sets
            .iter()
            .zip(weights)
            .map(|(s, w)| Open { left: *s, weight: w / total, takes: 1.0, tried: false })
            .collect();
        let mut plan = Plan {
            prices,
            sets,
            bare: (0..open.len()).filter(|at| open[*at].left == 0).collect(),
            gains: vec![0.0; prices.repairs.len()],
            touches: vec![0.0; prices.repairs.len()],
            ready: 0.0,
            alive: open.iter().map(|o| o.weight).sum(),
            open,
        };
        for at in 0..plan.open.len() {
            plan.count(at, 1.0);
        }
        plan
    }

    /// Adds what a set contributes to the gains, or takes it away.
    fn count(&mut self, at: usize, sign: f64) {
        let Open { left, weight, takes, tried } = self.open[at];
        let (touched, fixed) = (sign * weight, if tried { 0.0 } else { sign * weight * takes });
        if left == 0 {
            self.ready += fixed;
        } else if left.is_power_of_two() {
            // Most sets are one cause, and whatever touches that finishes it.
            for r in self.prices.curing(left) {
                self.touches[*r] += touched;
                self.gains[*r] += fixed * self.prices.repairs[*r].takes;
            }
        } else {
            for r in conditions(left).flat_map(|c| self.prices.curing(1 << c)) {
                self.touches[*r] += touched;
            }
            for r in self.prices.finishing(left) {
                self.gains[r] += fixed * self.prices.repairs[r].takes;
            }
        }
    }

    /// Does a repair (or none) and tries to start.
    fn act(&mut self, repair: Option<usize>) {
        for at in std::mem::take(&mut self.bare) {
            self.count(at, -1.0);
            self.attempt(at);
        }
        let Some(repair) = repair else { return };
        let RepairPrice { cures, takes, .. } = self.prices.repairs[repair];
        let sets = self.sets;
        for at in conditions(cures).filter_map(|c| sets.containing.get(c)).flatten() {
            // A set with two of the conditions comes by twice, and has none left at the second time.
            if self.open[*at].left & cures == 0 {
                continue;
            }
            self.count(*at, -1.0);
            let o = &mut self.open[*at];
            o.left &= !cures;
            o.takes *= takes;
            if o.left == 0 && !o.tried {
                self.attempt(*at);
            }
            self.count(*at, 1.0);
        }
    }

    /// Takes off a set what an attempt gets to run of it.
    fn attempt(&mut self, at: usize) {
        let o = &mut self.open[at];
        o.tried = true;
        self.alive -= o.weight * o.takes;
        o.weight *= 1.0 - o.takes;
    }

    /// The step with the highest chance of success for its cost, and its cost: a repair with the
    /// attempt after it, or (none) a plain attempt.
    fn best_step(&self) -> Option<(Option<usize>, f64)> {
        // Gains are kept up by adding and taking away; what is left of that is no gain.
        const NOTHING: f64 = 1e-12;
        let ready = if self.ready > NOTHING { self.ready } else { 0.0 };
        let partly;
        let gains = if ready > 0.0 || self.gains.iter().any(|g| *g > NOTHING) {
            &self.gains
        } else {
            // Only sets that no single repair finishes: begin where most of them are.
            partly = self.touching();
            &partly
        };
        let mut best = (ready > 0.0).then_some((None, self.prices.attempt, ready));
        for (r, (gain, repair)) in gains.iter().zip(&self.prices.repairs).enumerate() {
            if *gain <= NOTHING {
                continue;
            }
            let (gain, cost) = (gain + ready, repair.cost + self.prices.attempt);
            if best.is_none_or(|(_, c, g)| gain * c > g * cost) {
                best = Some((Some(r), cost, gain));
            }
        }
        best.map(|(repair, cost, _)| (repair, cost))
    }

    /// By repair: weight of the sets that it does something for, as far as it takes.
    fn touching(&self) -> Vec<f64> {
        self.touches
            .iter()
            .zip(&self.prices.repairs)
            .map(|(touched, repair)| touched * repair.takes)
            .collect()
    }
}

/// Cost of a fixed order of steps, stopping where handing over is cheaper than going on, and how many
/// are made until then.
fn settle(steps: &[Step], left: f64, hand_over: f64) -> (f64, usize) {
    let mut rest = left * hand_over;
    let mut made = steps.len();
    for (at, step) in steps.iter().enumerate().rev() {
        rest += step.reached * step.cost;
        let stop = step.reached * hand_over;
        if stop < rest {
            (rest, made) = (stop, at);
        }
    }
    (rest, made)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Five faults of trade literature G.7: p = .40 .25 .20 .10 .05, c = 60 5 20 15 2.
    const P: [f64; 5] = [0.40, 0.25, 0.20, 0.10, 0.05];
    const C: [f64; 5] = [60.0, 5.0, 20.0, 15.0, 2.0];

    fn prices(hand_over: f64) -> Prices {
        let repair =
            |(i, c): (usize, &f64)| RepairPrice { cures: 1 << i, takes: 1.0, cost: *c, minutes: 2.0 * c };
        Prices::new(C.iter().enumerate().map(repair).collect(), 0.0, 1.0, hand_over)
    }

    fn cost(hand_over: f64) -> f64 {
        let sets: Vec<CauseSet> = (0..5).map(|i| 1 << i).collect();
        expected_cost(&prices(hand_over), &Sets::new(sets), &P)
    }

    #[test]
    fn the_order_by_chance_over_cost_is_the_best_of_all_orders() {
        // Kadane and Simon 1977 (theorem): decreasing p/c minimises expected cost. 52.00 is the best
        // of all 120 orders, found by trying them here.
        let mut best = f64::INFINITY;
        crate::network::for_each_row(&[5; 5], |order| {
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
        let ends = ends(&prices(30.0), &Sets::new(sets), &P);
        let expected = [(0.25, 5.0, 11.0, true), (0.05, 7.0, 16.0, true), (0.70, 37.0, 16.0, false)];
        assert_eq!(ends.len(), expected.len(), "{ends:?}");
        for (end, (p, cost, minutes, runs)) in ends.iter().zip(expected) {
            assert!((end.p - p).abs() < 1e-12 && (end.cost - cost).abs() < 1e-12, "{end:?}");
            assert!((end.minutes - minutes).abs() < 1e-12 && end.runs == runs, "{end:?}");
        }
    }

    #[test]
    fn two_causes_at_once_need_two_repairs() {
        let both = expected_cost(&prices(1e9), &Sets::new(vec![0b00011]), &[1.0]);
        assert!((both - 65.0).abs() < 1e-9, "{both}");
        let nothing_wrong = expected_cost(&prices(1e9), &Sets::new(vec![0]), &[1.0]);
        assert!(nothing_wrong.abs() < 1e-12, "an attempt is free here: {nothing_wrong}");
    }

    #[test]
    fn a_repair_that_may_not_take_leaves_the_hand_over() {
        let repair = RepairPrice { cures: 1, takes: 0.8, cost: 10.0, minutes: 5.0 };
        let prices = Prices::new(vec![repair], 2.0, 1.0, 100.0);
        let cost = expected_cost(&prices, &Sets::new(vec![1]), &[1.0]);
        assert!((cost - (12.0 + 0.2 * 100.0)).abs() < 1e-9);
    }
}
