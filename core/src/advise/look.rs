//! Looks that a plan can make: observations with a repair for every result that points to one.
//!
//! They are laid out once per ranking, from how things stand, and gone through in some four hundred plans.

use super::price::{HALF_WAY, Prices, RepairPrice, Setups, Toll};
use super::sets::{CauseSet, ResultPosterior};
use crate::order::descending;

/// A repair is bound to a result that makes what it cures at least this many times as likely; 2 is what
/// a finding must do to speak for a condition at all (`verdict.rs`).
const POINTS_TO: f64 = 2.0;
/// Looks that plans choose from, at most.
const LOOKS: usize = 20;
/// An observation that could be made.
pub(super) struct Sight<'s> {
    /// Without set-up.
    pub(super) toll: Toll,
    /// What must be open for it.
    pub(super) setups: Setups,
    /// Whether it is a start attempt, which closes everything.
    pub(super) closes: bool,
    /// What may come out.
    pub(super) results: &'s [ResultPosterior],
}

/// A look as a plan sees it.
pub(super) struct Look {
    /// The place of the observation.
    pub(super) sight: usize,
    /// Without set-up and without what follows.
    pub(super) toll: Toll,
    /// What must be open for it.
    pub(super) setups: Setups,
    /// Whether it is a start attempt, which closes everything.
    pub(super) closes: bool,
    /// What its results lead to.
    pub(super) binds: Vec<Bind>,
    /// By set: what the repairs and attempts that follow cost on average.
    pub(super) burden: Vec<Toll>,
    /// What follows costs a machine that is not cured by it, on average as things stand.
    pub(super) innocent: f64,
}

/// A repair that some results of a look lead to.
pub(super) struct Bind {
    /// The repair.
    pub(super) repair: usize,
    /// By set: the chance of these results.
    pub(super) chance: Vec<f64>,
    /// The repair with its set-up and the attempt after it.
    pub(super) toll: Toll,
}

/// All looks.
pub(super) struct Looks {
    pub(super) all: Vec<Look>,
    /// The sets as things stand.
    pub(super) sets: Vec<CauseSet>,
    /// By set as things stand: the repairs, and then the looks, that do something for it, by their places, and
    /// the chance that it runs after them.
    pub(super) credits: Vec<Vec<(usize, f64)>>,
}

impl Looks {
    /// No looks at all.
    pub(super) fn none(prices: &Prices, sets: &[CauseSet]) -> Self {
        Looks::with(prices, sets, Vec::new())
    }

    fn with(prices: &Prices, sets: &[CauseSet], all: Vec<Look>) -> Self {
        let credits = |(at, set): (usize, &CauseSet)| {
            let of_looks = all.iter().map(|look| look.credit(prices, at, *set)).enumerate();
            let of_looks = of_looks.map(|(l, credit)| (prices.repairs.len() + l, credit));
            prices.credits(*set).chain(of_looks.filter(|(_, credit)| *credit > 0.0)).collect()
        };
        let credits = sets.iter().enumerate().map(credits).collect();
        Looks { all, sets: sets.to_vec(), credits }
    }

    /// The looks worth most for what they cost; `p` are the weights of the sets as things stand.
    pub(super) fn new(prices: &Prices, sets: &[CauseSet], p: &[f64], sights: &[Sight]) -> Self {
        let gains = |weights: &[f64]| {
            let mut gains = vec![0.0; prices.repairs.len()];
            for (set, weight) in sets.iter().zip(weights) {
                for (repair, credit) in prices.credits(*set) {
                    gains[repair] += weight * credit;
                }
            }
            gains
        };
        let before = gains(p);
        let looks: Vec<(f64, Look)> = sights
            .iter()
            .enumerate()
            .filter_map(|(at, sight)| {
                let mut look = Look {
                    sight: at,
                    toll: sight.toll,
                    setups: sight.setups,
                    closes: sight.closes,
                    binds: Vec::new(),
                    burden: vec![Toll::default(); sets.len()],
                    innocent: 0.0,
                };
                for result in sight.results.iter().filter(|r| r.p > 0.0) {
                    look.bind(prices, p, result, &before, &gains(&result.with_set));
                }
                let worth = look.weigh(prices, sets, p);
                (worth > 0.0).then_some((worth, look))
            })
            .collect();
        let worth: Vec<f64> = looks.iter().map(|(worth, _)| *worth).collect();
        let mut chosen = vec![false; worth.len()];
        descending(&worth).into_iter().take(LOOKS).for_each(|at| chosen[at] = true);
        let all: Vec<Look> =
            looks.into_iter().zip(chosen).filter_map(|((_, look), chosen)| chosen.then_some(look)).collect();
        Looks::with(prices, sets, all)
    }
}

impl Look {
    /// Binds the repair that a result points to, if it points to any.
    fn bind(&mut self, prices: &Prices, p: &[f64], result: &ResultPosterior, before: &[f64], after: &[f64]) {
        let open = if self.closes { 0 } else { self.setups };
        let mut best: Option<(usize, f64, Toll)> = None;
        for (repair, (gain, prior)) in after.iter().zip(before).enumerate() {
            let gain = gain / result.p;
            if gain < POINTS_TO * prior || gain <= 0.0 {
                continue;
            }
            let price = &prices.repairs[repair];
            let toll = price.toll + prices.opening(price.setups & !open) + prices.attempt;
            if gain * prices.hand_over < toll.cost {
                continue;
            }
            if best.is_none_or(|(_, g, t)| gain * t.cost > g * toll.cost) {
                best = Some((repair, gain, toll));
            }
        }
        let Some((repair, _, toll)) = best else { return };
        // Who tries in between opens again what the next step finds open.
        let toll = toll + prices.opening(open);
        let place = self.binds.iter().position(|b| b.repair == repair).unwrap_or_else(|| {
            self.binds.push(Bind { repair, chance: vec![0.0; p.len()], toll });
            self.binds.len() - 1
        });
        let chance = result.with_set.iter().zip(p).map(|(joint, p)| if *p > 0.0 { joint / p } else { 0.0 });
        for ((sum, burden), chance) in self.binds[place].chance.iter_mut().zip(&mut self.burden).zip(chance) {
            *sum += chance;
            *burden += toll * chance;
        }
    }

    /// What follows costs a machine that it does not cure, and how often it cures for that.
    fn weigh(&mut self, prices: &Prices, sets: &[CauseSet], p: &[f64]) -> f64 {
        let (mut gain, mut innocent, mut burden) = (0.0, 0.0, 0.0);
        for (at, (set, p)) in sets.iter().zip(p).enumerate() {
            let credit = self.credit(prices, at, *set).min(1.0);
            gain += p * credit;
            innocent += p * (1.0 - credit);
            burden += p * (1.0 - credit) * self.burden[at].cost;
        }
        self.innocent = if innocent > 0.0 { burden / innocent } else { 0.0 };
        gain / (self.toll.cost + prices.opening(self.setups).cost + self.innocent).max(f64::MIN_POSITIVE)
    }

    /// Chance that a machine runs after it, by the place of its set as things stand and what is left of it.
    pub(super) fn credit(&self, prices: &Prices, at: usize, left: CauseSet) -> f64 {
        let of = |bind: &Bind| {
            let RepairPrice { cures, takes, .. } = &prices.repairs[bind.repair];
            let way = match left & !cures {
                0 => 1.0,
                rest if rest == left => 0.0,
                _ => HALF_WAY,
            };
            bind.chance[at] * takes * way
        };
        self.binds.iter().map(of).sum()
    }

    /// Whether it decides on a repair that another decides on.
    pub(super) fn overlaps(&self, other: &Look) -> bool {
        self.binds.iter().any(|a| other.binds.iter().any(|b| a.repair == b.repair))
    }
}
