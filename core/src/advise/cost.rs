//! Costs of everything that a plan can do.

use std::ops::{Add, AddAssign, Mul};

use super::sets::CauseSet;

/// An amount of money, and the time in it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Cost {
    /// Money in the unit of the job's rate, parts included.
    pub(super) money: f64,
    /// Minutes at the machine.
    pub(super) minutes: f64,
    /// Hours of waiting, during which nobody works on the machine.
    pub(super) wait_hours: f64,
}

impl Add for Cost {
    type Output = Cost;

    fn add(self, other: Cost) -> Cost {
        Cost {
            money: self.money + other.money,
            minutes: self.minutes + other.minutes,
            wait_hours: self.wait_hours + other.wait_hours,
        }
    }
}

impl AddAssign for Cost {
    fn add_assign(&mut self, other: Cost) {
        *self = *self + other;
    }
}

impl Mul<f64> for Cost {
    type Output = Cost;

    fn mul(self, times: f64) -> Cost {
        Cost { money: self.money * times, minutes: self.minutes * times, wait_hours: self.wait_hours * times }
    }
}

/// Progress by curing one of several causes, where curing the only one is 1.
const HALF_WAY: f64 = 0.5;

/// Causes of one set as bits, by their places among its first 64.
pub(super) type Subset = u64;

/// The causes of a set that are among some others.
pub(super) fn subset(set: CauseSet, others: CauseSet) -> Subset {
    let among = |(_, c): &(usize, usize)| others >> c & 1 == 1;
    let places = conditions(set).take(Subset::BITS as usize).enumerate().filter(among);
    places.fold(0, |subset, (i, _)| subset | 1 << i)
}

/// Progress towards a running engine by curing some causes, while others may be left. In [0, 1].
pub(super) fn progress(left: Subset, cures: Subset) -> f64 {
    match left & !cures {
        rest if rest == left => 0.0,
        0 => 1.0,
        _ => HALF_WAY,
    }
}

/// Set-up work as bits, in the order of the description.
pub(super) type Setups = u64;

/// Costs of everything that a plan can do.
#[derive(Debug)]
pub(super) struct Costs {
    /// By repair. A repair that the kit cannot do cures nothing.
    pub(super) repairs: Vec<RepairCost>,
    /// One plain start attempt.
    pub(super) attempt: Cost,
    /// Stopping, in money: handing over or giving up, whichever is cheaper.
    pub(super) hand_over: f64,
    /// By set-up work.
    setups: Vec<Cost>,
    /// By condition: the repairs that cure it.
    curing: Vec<Vec<usize>>,
}

/// A repair as plans see it.
#[derive(Debug, Clone)]
pub(super) struct RepairCost {
    /// The conditions that it cures.
    pub(super) cures: CauseSet,
    /// Chance that it takes.
    pub(super) takes: f64,
    /// Cost without set-up work, and without the attempt after it.
    pub(super) cost: Cost,
    /// The set-up work that it needs.
    pub(super) setups: Setups,
}

impl Costs {
    /// Costs of repairs, an attempt, stopping and set-up work.
    pub(super) fn new(repairs: Vec<RepairCost>, attempt: Cost, hand_over: f64, setups: Vec<Cost>) -> Self {
        let all = repairs.iter().fold(0, |all, r| all | r.cures);
        let conditions = (CauseSet::BITS - all.leading_zeros()) as usize;
        let curing = (0..conditions)
            .map(|c| (0..repairs.len()).filter(|r| repairs[*r].cures >> c & 1 == 1).collect())
            .collect();
        Costs { repairs, attempt, hand_over, setups, curing }
    }

    /// Cost of some set-up work.
    pub(super) fn opening(&self, mut setups: Setups) -> Cost {
        let mut cost = Cost::default();
        while setups != 0 {
            cost += self.setups.get(setups.trailing_zeros() as usize).copied().unwrap_or_default();
            setups &= setups - 1;
        }
        cost
    }

    /// The repairs that cure something of a set, each once.
    pub(super) fn curing(&self, set: CauseSet) -> impl Iterator<Item = usize> {
        conditions(set).flat_map(move |c| {
            let curing = self.curing.get(c).map_or(&[][..], Vec::as_slice);
            // A repair that cures several of them is taken at the first.
            let first = move |r: &&usize| (set & self.repairs[**r].cures).trailing_zeros() as usize == c;
            curing.iter().filter(first).copied()
        })
    }
}

/// The cheapest way to get the engine running, with perfect information about the causes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PerfectInformation {
    /// Expected cost in money. A repair that does not take is done again, so it costs its price divided by its
    /// chance to take.
    pub(super) cost: f64,
    /// The repair to begin with; none where nothing stops the engine, or handing over is cheaper.
    pub(super) first: Option<usize>,
}

impl Costs {
    /// The cheapest repairs that cure all of a set, and one attempt; or handing over.
    pub(super) fn known(&self, set: CauseSet, open: Setups) -> PerfectInformation {
        let mut best = PerfectInformation { cost: self.hand_over, first: None };
        self.cover(set, open, PerfectInformation { cost: self.attempt.money, first: None }, &mut best);
        best
    }

    /// Searches all ways to cover what is left, and keeps the cheapest.
    fn cover(&self, left: CauseSet, open: Setups, so_far: PerfectInformation, best: &mut PerfectInformation) {
        if so_far.cost >= best.cost {
            return;
        }
        let Some(condition) = conditions(left).next() else {
            *best = so_far;
            return;
        };
        for r in self.curing.get(condition).into_iter().flatten() {
            let RepairCost { cures, takes, cost, setups } = &self.repairs[*r];
            let cost = so_far.cost + cost.money / takes + self.opening(setups & !open).money;
            let with = PerfectInformation { cost, first: so_far.first.or(Some(*r)) };
            self.cover(left & !cures, open | setups, with, best);
        }
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

#[cfg(test)]
mod tests {
    use super::*;

    fn cost(money: f64) -> Cost {
        Cost { money, minutes: money, wait_hours: 0.0 }
    }

    fn repair(cures: CauseSet, takes: f64, money: f64, setups: Setups) -> RepairCost {
        RepairCost { cures, takes, cost: cost(money), setups }
    }

    #[test]
    fn who_knows_the_causes_takes_the_cheapest_cover() {
        // By hand: one repair cures a and b for 30; apart they cost 10 and 8/.8 = 10 with a set-up of 4 in
        // common, so 24; an attempt 2. For a alone 10 + 4 + 2; with the set-up open 10 + 2.
        let repairs =
            vec![repair(0b011, 1.0, 30.0, 0), repair(0b001, 1.0, 10.0, 1), repair(0b010, 0.8, 8.0, 1)];
        let costs = Costs::new(repairs, cost(2.0), 100.0, vec![cost(4.0)]);
        let known = |set, open| costs.known(set, open);
        assert_eq!(known(0b011, 0), PerfectInformation { cost: 26.0, first: Some(1) });
        assert_eq!(known(0b001, 0), PerfectInformation { cost: 16.0, first: Some(1) });
        assert_eq!(known(0b001, 1), PerfectInformation { cost: 12.0, first: Some(1) });
        assert_eq!(known(0, 0), PerfectInformation { cost: 2.0, first: None });
        assert_eq!(known(0b100, 0), PerfectInformation { cost: 100.0, first: None }, "nothing cures it");
    }
}
