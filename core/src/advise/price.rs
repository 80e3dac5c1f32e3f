//! What everything costs that a plan can do.

use std::ops::{Add, AddAssign, Mul};

use super::sets::CauseSet;

/// Money, and the minutes in it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Toll {
    /// In the unit of the job's rate; with parts.
    pub(super) cost: f64,
    /// At the machine.
    pub(super) minutes: f64,
}

impl Add for Toll {
    type Output = Toll;

    fn add(self, other: Toll) -> Toll {
        Toll { cost: self.cost + other.cost, minutes: self.minutes + other.minutes }
    }
}

impl AddAssign for Toll {
    fn add_assign(&mut self, other: Toll) {
        *self = *self + other;
    }
}

impl Mul<f64> for Toll {
    type Output = Toll;

    fn mul(self, times: f64) -> Toll {
        Toll { cost: self.cost * times, minutes: self.minutes * times }
    }
}

/// Credit for curing one of several causes, against curing the only one: it is half of the way.
const HALF_WAY: f64 = 0.5;

/// Causes of one set as bits, by their places among its first 64.
pub(super) type Few = u64;

/// Those of a set's causes that are among some others.
pub(super) fn few(set: CauseSet, others: CauseSet) -> Few {
    let among = |(_, c): &(usize, usize)| others >> c & 1 == 1;
    conditions(set).take(Few::BITS as usize).enumerate().filter(among).fold(0, |few, (i, _)| few | 1 << i)
}

/// How far on the way to a running engine it is to cure some causes, where others may be left.
pub(super) fn way(left: Few, cures: Few) -> f64 {
    match left & !cures {
        rest if rest == left => 0.0,
        0 => 1.0,
        _ => HALF_WAY,
    }
}

/// Set-up work as bits, in the order of the description.
pub(super) type Setups = u64;

/// Prices of everything that a plan can do.
#[derive(Debug)]
pub(super) struct Prices {
    /// By repair; one that the kit cannot do cures nothing.
    pub(super) repairs: Vec<RepairPrice>,
    /// One plain attempt.
    pub(super) attempt: Toll,
    /// Stopping, in money: handing over or giving it up, whichever is cheaper.
    pub(super) hand_over: f64,
    /// By set-up: opening it.
    setups: Vec<Toll>,
    /// By condition: the repairs that cure it.
    curing: Vec<Vec<usize>>,
}

/// A repair as the plan sees it.
#[derive(Debug, Clone)]
pub(super) struct RepairPrice {
    /// Conditions that it makes good.
    pub(super) cures: CauseSet,
    /// Chance that it takes.
    pub(super) takes: f64,
    /// Without set-up, and without the attempt after it.
    pub(super) toll: Toll,
    /// What must be open for it.
    pub(super) setups: Setups,
}

impl Prices {
    pub(super) fn new(repairs: Vec<RepairPrice>, attempt: Toll, hand_over: f64, setups: Vec<Toll>) -> Self {
        let all = repairs.iter().fold(0, |all, r| all | r.cures);
        let conditions = (CauseSet::BITS - all.leading_zeros()) as usize;
        let curing = (0..conditions)
            .map(|c| (0..repairs.len()).filter(|r| repairs[*r].cures >> c & 1 == 1).collect())
            .collect();
        Prices { repairs, attempt, hand_over, setups, curing }
    }

    /// What it takes to open some set-ups.
    pub(super) fn opening(&self, mut setups: Setups) -> Toll {
        let mut toll = Toll::default();
        while setups != 0 {
            toll += self.setups.get(setups.trailing_zeros() as usize).copied().unwrap_or_default();
            setups &= setups - 1;
        }
        toll
    }

    /// Repairs that cure something of a set, each once.
    pub(super) fn curing(&self, set: CauseSet) -> impl Iterator<Item = usize> {
        conditions(set).flat_map(move |c| {
            let curing = self.curing.get(c).map_or(&[][..], Vec::as_slice);
            // A repair that cures two of them comes by twice.
            let first = move |r: &&usize| (set & self.repairs[**r].cures).trailing_zeros() as usize == c;
            curing.iter().filter(first).copied()
        })
    }
}

/// The cheapest way to get a machine running for somebody who knows what stops it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PerfectInformation {
    /// What it costs on average. Repairs that do not take are done again: each costs its price by its chance to
    /// take.
    pub(super) cost: f64,
    /// The repair to begin with; none where nothing stops it, or handing over is cheaper.
    pub(super) first: Option<usize>,
}

impl Prices {
    /// The cheapest repairs that make good all of a set, and one attempt; or handing over.
    pub(super) fn known(&self, set: CauseSet, open: Setups) -> PerfectInformation {
        let mut best = PerfectInformation { cost: self.hand_over, first: None };
        self.cover(set, open, PerfectInformation { cost: self.attempt.cost, first: None }, &mut best);
        best
    }

    /// Goes through all ways to cover what is left; the cheapest is kept.
    fn cover(&self, left: CauseSet, open: Setups, so_far: PerfectInformation, best: &mut PerfectInformation) {
        if so_far.cost >= best.cost {
            return;
        }
        let Some(condition) = conditions(left).next() else {
            *best = so_far;
            return;
        };
        for r in self.curing.get(condition).into_iter().flatten() {
            let RepairPrice { cures, takes, toll, setups } = &self.repairs[*r];
            let cost = so_far.cost + toll.cost / takes + self.opening(setups & !open).cost;
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

    fn toll(cost: f64) -> Toll {
        Toll { cost, minutes: cost }
    }

    fn repair(cures: CauseSet, takes: f64, cost: f64, setups: Setups) -> RepairPrice {
        RepairPrice { cures, takes, toll: toll(cost), setups }
    }

    #[test]
    fn who_knows_the_causes_takes_the_cheapest_cover() {
        // By hand: one repair cures a and b for 30; apart they cost 10 and 8/.8 = 10 with a set-up of 4 in
        // common, so 24; an attempt 2. For a alone 10 + 4 + 2; with the set-up open 10 + 2.
        let repairs =
            vec![repair(0b011, 1.0, 30.0, 0), repair(0b001, 1.0, 10.0, 1), repair(0b010, 0.8, 8.0, 1)];
        let prices = Prices::new(repairs, toll(2.0), 100.0, vec![toll(4.0)]);
        let known = |set, open| prices.known(set, open);
        assert_eq!(known(0b011, 0), PerfectInformation { cost: 26.0, first: Some(1) });
        assert_eq!(known(0b001, 0), PerfectInformation { cost: 16.0, first: Some(1) });
        assert_eq!(known(0b001, 1), PerfectInformation { cost: 12.0, first: Some(1) });
        assert_eq!(known(0, 0), PerfectInformation { cost: 2.0, first: None });
        assert_eq!(known(0b100, 0), PerfectInformation { cost: 100.0, first: None }, "nothing cures it");
    }
}
