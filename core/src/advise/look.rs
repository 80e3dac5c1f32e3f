//! Looks that a plan can make: observations with a repair for every result that points to one.
//!
//! They are laid out once per ranking, from how things stand, and gone through in some hundreds of plans.

use super::price::{Few, Prices, RepairPrice, Setups, Toll, few, way};
use super::sets::{CauseSet, ResultPosterior};
use halfsplit_bayes::support::order::largest_first;

/// A repair is bound to a result that makes what it cures at least this many times as likely; 2 is what
/// a finding must do to speak for a condition at all (`verdict.rs`).
const POINTS_TO: f64 = 2.0;
/// Looks that plans choose from, at most.
const LOOKS: usize = 10;
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
#[derive(Debug)]
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
#[derive(Debug)]
pub(super) struct Bind {
    /// The repair.
    pub(super) repair: usize,
    /// By set: the chance of these results.
    pub(super) chance: Vec<f64>,
    /// The repair with its set-up and the attempt after it.
    pub(super) toll: Toll,
}

/// A repair that cures something of a set.
#[derive(Debug)]
pub(super) struct Curing {
    pub(super) repair: usize,
    /// What it cures of the set.
    pub(super) cures: Few,
    /// Chance that it takes.
    takes: f64,
}

/// What a repair or a look is good for, where some causes of a set are left.
#[derive(Debug)]
pub(super) struct Credit {
    /// The repair; looks come after all repairs.
    pub(super) to: usize,
    /// How far it gets on the way to a running engine.
    pub(super) gain: f64,
}

/// All looks.
#[derive(Debug)]
pub(super) struct Looks {
    pub(super) all: Vec<Look>,
    /// By set as things stand: all of it.
    whole: Vec<Few>,
    /// By set as things stand, one after the other: the repairs that cure something of it.
    curing: Vec<Curing>,
    /// By set: where its repairs begin; and where they all end.
    begins: Vec<usize>,
    /// By set and by what may be left of it, one after the other: what does something for it.
    credits: Vec<Credit>,
    /// Where the credits of each of these begin, and where they all end; and by set, the first of its own.
    credits_begin: Vec<usize>,
    credits_of: Vec<usize>,
    /// By repair, then by look: what it costs a machine that it does not cure, with everything open.
    pub(super) tolls: Vec<f64>,
}

impl Looks {
    /// No looks at all.
    pub(super) fn none(prices: &Prices, sets: &[CauseSet]) -> Self {
        let mut looks = Looks::only_repairs(prices, sets);
        looks.credit(prices);
        looks
    }

    fn only_repairs(prices: &Prices, sets: &[CauseSet]) -> Self {
        let mut looks = Looks {
            all: Vec::new(),
            whole: sets.iter().map(|set| few(*set, *set)).collect(),
            curing: Vec::new(),
            begins: vec![0],
            credits: Vec::new(),
            credits_begin: Vec::new(),
            credits_of: Vec::new(),
            tolls: Vec::new(),
        };
        for set in sets {
            let curing = prices.curing(*set).map(|repair| {
                let RepairPrice { cures, takes, .. } = prices.repairs[repair];
                Curing { repair, cures: few(*set, cures), takes }
            });
            looks.curing.extend(curing);
            looks.begins.push(looks.curing.len());
        }
        looks
    }

    /// The looks worth most for what they cost; `p` are the weights of the sets as things stand.
    pub(super) fn new(prices: &Prices, sets: &[CauseSet], p: &[f64], sights: &[Sight]) -> Self {
        let mut looks = Looks::only_repairs(prices, sets);
        let before = looks.gains(prices, p);
        let weighed: Vec<(f64, Look)> = sights
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
                    let after = looks.gains(prices, &result.with_set);
                    look.bind(prices, p, result, &before, &after);
                }
                let worth = looks.weigh(&mut look, prices, p);
                (worth > 0.0).then_some((worth, look))
            })
            .collect();
        let chosen = largest_first(weighed, |(worth, _)| *worth).into_iter().take(LOOKS);
        looks.all = chosen.map(|(_, look)| look).collect();
        looks.credit(prices);
        looks
    }

    /// Lays out what everything costs and is good for, whatever is left of a set.
    fn credit(&mut self, prices: &Prices) {
        self.tolls.extend(prices.repairs.iter().map(|r| r.toll.cost + prices.attempt.cost));
        self.tolls.extend(self.all.iter().map(|l| l.toll.cost + l.innocent));
        let of_looks = prices.repairs.len();
        let mut gains = vec![0.0; of_looks + self.all.len()];
        for (at, whole) in self.whole.iter().enumerate() {
            self.credits_of.push(self.credits_begin.len());
            let curing = &self.curing[self.begins[at]..self.begins[at + 1]];
            for left in 0..=*whole {
                self.credits_begin.push(self.credits.len());
                for curing in curing {
                    let gain = curing.takes * way(left, curing.cures);
                    if gain > 0.0 {
                        gains[curing.repair] += gain;
                        for (look, gains) in self.all.iter().zip(&mut gains[of_looks..]) {
                            *gains += gain * look.chance(curing.repair, at);
                        }
                    }
                }
                for (to, gain) in gains.iter_mut().enumerate().filter(|(_, gain)| **gain > 0.0) {
                    self.credits.push(Credit { to, gain: std::mem::take(gain) });
                }
            }
        }
        self.credits_begin.push(self.credits.len());
    }

    /// What repairs and looks do for a set, by its place as things stand, of which this is left.
    pub(super) fn credits(&self, at: usize, left: Few) -> &[Credit] {
        let place = self.credits_of[at] + left as usize;
        &self.credits[self.credits_begin[place]..self.credits_begin[place + 1]]
    }

    /// The repairs that cure something of a set, by its place as things stand.
    pub(super) fn curing(&self, at: usize) -> &[Curing] {
        &self.curing[self.begins[at]..self.begins[at + 1]]
    }

    /// By repair: how far it gets on average.
    fn gains(&self, prices: &Prices, weights: &[f64]) -> Vec<f64> {
        let mut gains = vec![0.0; prices.repairs.len()];
        for (at, (whole, weight)) in self.whole.iter().zip(weights).enumerate() {
            for curing in self.curing(at) {
                gains[curing.repair] += weight * curing.takes * way(*whole, curing.cures);
            }
        }
        gains
    }

    /// What follows a look costs a machine that it does not cure, and how often it cures for that.
    fn weigh(&self, look: &mut Look, prices: &Prices, p: &[f64]) -> f64 {
        let (mut gain, mut innocent, mut burden) = (0.0, 0.0, 0.0);
        for (at, (whole, p)) in self.whole.iter().zip(p).enumerate() {
            let credit = |c: &Curing| look.chance(c.repair, at) * c.takes * way(*whole, c.cures);
            let credit = self.curing(at).iter().map(credit).sum::<f64>().min(1.0);
            gain += p * credit;
            innocent += p * (1.0 - credit);
            burden += p * (1.0 - credit) * look.burden[at].cost;
        }
        look.innocent = if innocent > 0.0 { burden / innocent } else { 0.0 };
        gain / (look.toll.cost + prices.opening(look.setups).cost + look.innocent).max(f64::MIN_POSITIVE)
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

    /// Chance that it leads to a repair, by the place of the set of causes as things stand.
    fn chance(&self, repair: usize, at: usize) -> f64 {
        self.binds.iter().find(|b| b.repair == repair).map_or(0.0, |b| b.chance[at])
    }

    /// Whether it decides on a repair that another decides on.
    pub(super) fn overlaps(&self, other: &Look) -> bool {
        self.binds.iter().any(|a| other.binds.iter().any(|b| a.repair == b.repair))
    }
}
