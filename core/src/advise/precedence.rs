//! Precedence: the order of work that holds before expected costs are compared.
//!
//! A careful mechanic does some things at once, because they cost next to nothing and spoil nothing:
//!
//! 1. the step that opens a gate (`gate.rs`),
//! 2. a quick repair of a fault that was found, because it has to be put right anyway, a quick repair that probably
//!    cures, and any repair that almost certainly does,
//! 3. a start attempt after something was put right, or where the engine probably runs,
//! 4. a check of the same thing after a finding that is not normal and not explained,
//! 5. free looks, the one with the most merit for its cost first.
//!
//! Every other step follows in the order of its expected cost. Among steps whose expected costs differ by less than
//! the accuracy of the estimate, the one with the lightest burden comes first.
//!
//! The first step is the advice. The steps behind it are what else could be done, for somebody who cannot or will not do
//! the first one, so they are arranged to differ: some free looks, and then, among the steps ordered by cost, checks that
//! tell much for their cost, without those that see the same as one before them.
//!
//! A step that is not worth doing now is set aside: it can be done, and it is not in the ranking.

use std::cmp::Ordering;

use super::answer::{Abnormal, CauseOdds};
use super::candidate::{Candidate, ObserveCandidate, RepairCandidate};
use super::context::RankingContext;
use super::steps::{self, Effort};
use super::verdict;
use crate::job::{Action, Job, Provenance, Step};
use crate::machine::file::CheckKind;
use crate::machine::model::Source;
use crate::machine::{CheckId, ConditionId, Machine, RepairId};
use halfsplit_bayes::support::order::rounded;

/// A chance from which something counts as so: a condition was found, a repair cures, the engine runs.
const PROBABLE: f64 = 0.5;
/// A chance from which nothing is worth looking at before the repair.
const CERTAIN: f64 = 0.8;
/// A repair is quick if it costs at most this many minutes at the rate, parts included. Common practice, no source.
const QUICK_MINUTES: f64 = 20.0;
/// A free look takes at most this many minutes, with the set-up work that is not open yet. Common practice, no source.
const FREE_MINUTES: f64 = 2.5;
/// A free look costs at most this share of the best expected cost, or its own expected cost is above it by at most
/// this share.
const FREE_SHARE: f64 = 0.05;
/// Number of free looks in front of the steps ordered by cost.
const FREE_LOOKS: usize = 3;
/// A free look is worth its cost if its merit saves at least this share of it. Merit counts what the look decides
/// alone, and most looks decide together with others.
const PAYS: f64 = 0.3;
/// Worth of information that points to no repair, as a share of what complete information is worth.
const INDIRECT: f64 = 0.1;
/// Least information of a check that follows up a finding, in bits.
const FOLLOW_BITS: f64 = 0.02;
/// Least information of an observation that is not set aside, in bits.
const LEAST_BITS: f64 = 0.002;
/// Accuracy of an expected cost, as a share of it.
const ACCURACY: f64 = 0.01;

/// What a job says about the order of work.
#[derive(Debug)]
pub(super) struct Precedence {
    /// Quick repairs of faults that were found and are still there.
    mends: Vec<RepairId>,
    /// Whether something was put right since the last plain start attempt.
    put_right: bool,
    /// Whether a plain start attempt was made and nothing has been done to the machine since.
    tried: bool,
    /// The most that a quick repair costs, in money.
    quick: f64,
    /// The checks that whoever keeps the job has made.
    made: Vec<CheckId>,
    /// The conditions that a normal finding of whoever keeps the job has cleared.
    cleared: Vec<ConditionId>,
    /// What the last step saw, if it is an abnormal finding that no condition explains yet.
    unexplained: Vec<Source>,
}

/// The class of a candidate. Classes come one after the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Class {
    /// A step that opens a gate, by its place.
    Opens(usize),
    /// A quick repair of a fault that was found, or one that probably cures.
    Mends,
    /// A start attempt after something was put right, or where the engine probably runs.
    Tries,
    /// A check of the same thing after a finding that is not normal and not explained.
    FollowsUp,
    /// A free look.
    FreeLook,
    /// Any other step, and stopping.
    ByCost,
}

/// The place of a candidate: classes in order, within a class the lower number first, and then what is lighter.
struct Place<K> {
    at: usize,
    class: Class,
    number: f64,
    /// Whether another free look comes before it, being part of the same work.
    follows: bool,
    tells_nothing: bool,
    key: K,
}

impl<K: Ord> Place<K> {
    /// Which of two places comes first.
    fn in_order(&self, other: &Self) -> Ordering {
        let first = self.class.cmp(&other.class).then(self.number.total_cmp(&other.number));
        first
            .then((self.follows, self.tells_nothing).cmp(&(other.follows, other.tells_nothing)))
            .then(self.key.cmp(&other.key))
    }
}

/// The burden of a step, lightest first.
#[derive(Debug, PartialEq, PartialOrd)]
struct Burden {
    /// Whether it makes a spark, turns the engine or handles fuel, battery or mains.
    involved: usize,
    /// Minutes of opening work that is not done.
    opening: f64,
    tools: usize,
    minutes: f64,
    cost: f64,
}

/// Candidates in the order of work, by their places among the candidates.
pub(super) struct Order {
    /// What is worth doing, best first, and the ways to stop.
    pub(super) ranking: Vec<usize>,
    /// What can be done and is not worth doing now.
    pub(super) set_aside: Vec<usize>,
    /// Whether the odds are enough to decide: the first step opens no gate, and no free look is left.
    pub(super) enough: bool,
}

impl Precedence {
    /// The order of work of a job with these odds and findings.
    pub(super) fn new(job: &Job, causes: &[CauseOdds], abnormal: &[Abnormal]) -> Self {
        let found = found(job, causes, abnormal);
        let quick = steps::cost(job, Effort::minutes(QUICK_MINUTES)).money;
        let costs = |r: RepairId| steps::cost(job, Effort::of_repair(job.machine.repair(r))).money;
        let mends = |r: &RepairId| {
            let cures = &job.machine.model.repairs[*r].cures;
            costs(*r) <= quick
                && job.machine.repair(*r).wait_hours == 0.0
                && cures.iter().any(|c| found.contains(c))
        };
        let plain = |s: &Step| matches!(s, Step::Attempt { bypasses, .. } if bypasses.is_empty());
        let since = job.steps.iter().rev().take_while(|s| !plain(s));
        let changes = |s: &Step| !matches!(s, Step::Check { .. });
        Precedence {
            mends: job.machine.model.repairs.keys().filter(mends).collect(),
            put_right: since.clone().any(|s| puts_right(job, s)),
            tried: job.steps.iter().any(plain) && !since.clone().any(changes),
            quick,
            made: job.steps.iter().filter_map(own_check).collect(),
            cleared: job.steps.iter().flat_map(|s| cleared(job, s)).collect(),
            unexplained: unexplained(job, abnormal),
        }
    }

    /// The order of work. Equally good candidates stand in the order of their keys.
    pub(super) fn order<K: Ord>(
        &self,
        machine: &Machine,
        context: &RankingContext,
        candidates: &[&Candidate],
        key: impl Fn(&Candidate) -> K,
    ) -> Order {
        let least = candidates.iter().map(|c| c.expected_cost()).fold(f64::INFINITY, f64::min);
        let acts = candidates.iter().filter(|c| !matches!(c, Candidate::Observe(_)));
        let best_act = acts.map(|c| rounded(c.expected_cost())).fold(f64::INFINITY, f64::min);
        let judge = Judge { precedence: self, machine, context, least, best_act };
        let mut places: Vec<Place<K>> = candidates
            .iter()
            .enumerate()
            .map(|(at, c)| {
                let class = judge.class(c);
                let (number, tells_nothing) = (judge.number(class, c), c.tells_nothing());
                Place { at, class, number, follows: false, tells_nothing, key: key(c) }
            })
            .collect();
        judge.let_looks_follow(candidates, &mut places);
        places.sort_by(Place::in_order);
        judge.lightest_first(candidates, &mut places);
        let decides = |p: &Place<K>| !matches!(p.class, Class::Opens(_) | Class::FollowsUp | Class::FreeLook);
        let enough = places.iter().all(decides);
        judge.arrange_others(candidates, &mut places);
        let (mut ranking, mut set_aside) = (Vec::new(), Vec::new());
        for place in &places {
            let aside = judge.is_set_aside(place.class, candidates[place.at]);
            if aside { set_aside.push(place.at) } else { ranking.push(place.at) }
        }
        Order { ranking, set_aside, enough }
    }
}

/// Everything that decides about the place of a candidate.
struct Judge<'a> {
    precedence: &'a Precedence,
    machine: &'a Machine,
    context: &'a RankingContext,
    /// The best expected cost.
    least: f64,
    /// The best expected cost of a repair or of stopping.
    best_act: f64,
}

impl Judge<'_> {
    fn class(&self, candidate: &Candidate) -> Class {
        if let Some(place) = opens(self.context, candidate) {
            return Class::Opens(place);
        }
        let Precedence { mends, put_right, quick, .. } = self.precedence;
        match candidate {
            Candidate::Repair(repair) if mends.contains(&repair.repair) => Class::Mends,
            Candidate::Repair(repair)
                if rounded(repair.expected_cost) <= self.best_act
                    && (self.context.gain(repair) >= PROBABLE && repair.cost.money <= *quick
                        || self.context.gain(repair) >= CERTAIN) =>
            {
                Class::Mends
            }
            Candidate::Observe(observe)
                if observe.is_attempt
                    && (*put_right
                        || self.context.posterior.p_none >= PROBABLE
                            && rounded(observe.expected_cost) <= self.best_act) =>
            {
                Class::Tries
            }
            Candidate::Observe(observe) if self.follows_up(observe) => Class::FollowsUp,
            Candidate::Observe(observe) if self.is_free_look(observe) => Class::FreeLook,
            _ => Class::ByCost,
        }
    }

    /// Whether an observation is a look, a smell or a feel that costs next to nothing, for the first time, and is
    /// worth it.
    fn is_free_look(&self, observe: &ObserveCandidate) -> bool {
        let Some(check) = self.look(observe) else { return false };
        let cheap = observe.cost.money <= self.least * FREE_SHARE
            || observe.expected_cost <= self.least * (1.0 + FREE_SHARE);
        cheap
            && observe.cost.minutes <= FREE_MINUTES
            && !self.precedence.made.contains(&check)
            && self.context.merit(observe) * self.least >= PAYS
    }

    /// Whether an observation sees what the last step saw and could not explain.
    fn follows_up(&self, observe: &ObserveCandidate) -> bool {
        let Action::Check(check) = self.context.observations[observe.observation].action else {
            return false;
        };
        let parents = &self.machine.model.checks[check].observation.parents;
        parents.iter().any(|source| self.precedence.unexplained.contains(source))
            && !self.precedence.made.contains(&check)
            && observe.cost.money <= self.least * FREE_SHARE
            && observe.information_bits >= FOLLOW_BITS
    }

    /// The check of an observation that looks at, smells or feels a part of the machine.
    fn look(&self, observe: &ObserveCandidate) -> Option<CheckId> {
        let Action::Check(check) = self.context.observations[observe.observation].action else { return None };
        let kind = self.machine.check(check).kind;
        let looks = matches!(kind, CheckKind::LookedAt | CheckKind::Smelt)
            && seen_by(self.machine, check).next().is_some();
        looks.then_some(check)
    }

    /// The number that orders the candidates of a class; the lower comes first.
    ///
    /// An observation costs at most its own cost above the best step, which can still be done after it. Without this
    /// bound, a step that was not refined by lookahead would look dearer only for that. The bound stays clear of the best
    /// step, so that a step which tells little never ties with it.
    fn number(&self, class: Class, candidate: &Candidate) -> f64 {
        rounded(match (class, candidate) {
            (Class::FreeLook | Class::FollowsUp, Candidate::Observe(check)) => -self.context.merit(check),
            (Class::Mends, Candidate::Repair(repair)) => repair.cost.money,
            (_, Candidate::Observe(observe))
                if !observe.is_attempt && observe.information_bits >= FOLLOW_BITS =>
            {
                observe.expected_cost.min(self.bound(observe))
            }
            _ => candidate.expected_cost(),
        })
    }

    /// The most that an observation costs with all work after it.
    fn bound(&self, observe: &ObserveCandidate) -> f64 {
        observe.cost.money + self.least * (1.0 + 2.0 * ACCURACY)
    }

    /// What a check may save of the work that is left: its share of what is unknown. Only the right checks after it would
    /// save all of that, so it decides about no first step: on 120 simulated machines, advice that counted it was a sixth
    /// dearer. An attempt with a bypass changes what later checks see, and is not credited.
    fn saving(&self, observe: &ObserveCandidate) -> f64 {
        match self.sees(observe) {
            Some(_) => self.least * self.context.share_known(observe).min(1.0),
            None => 0.0,
        }
    }

    /// What a check sees: parts and functions. None for an attempt.
    fn sees(&self, observe: &ObserveCandidate) -> Option<Vec<Source>> {
        let Action::Check(check) = self.context.observations[observe.observation].action else { return None };
        Some(seen_by(self.machine, check).collect())
    }

    /// Arranges the steps behind the first one.
    fn arrange_others<K: Ord>(&self, candidates: &[&Candidate], places: &mut [Place<K>]) {
        let Some((first, others)) = places.split_first_mut() else { return };
        let taken = usize::from(first.class == Class::FreeLook);
        let free = others.iter_mut().filter(|place| place.class == Class::FreeLook);
        for place in free.skip(FREE_LOOKS - taken) {
            (place.class, place.follows) = (Class::ByCost, false);
            place.number = self.number(Class::ByCost, candidates[place.at]);
        }
        for place in others.iter_mut().filter(|place| place.class == Class::ByCost) {
            if let Candidate::Observe(observe) = candidates[place.at] {
                place.number = rounded(place.number.min(self.bound(observe) - self.saving(observe)));
            }
        }
        others.sort_by(Place::in_order);
        self.let_repeats_wait(candidates, first, others);
        others.sort_by(Place::in_order);
        self.lightest_first(candidates, others);
    }

    /// A check that sees the same as one that comes before it saves nothing more.
    fn let_repeats_wait<K>(&self, candidates: &[&Candidate], first: &Place<K>, others: &mut [Place<K>]) {
        let sees = |place: &Place<K>| match candidates[place.at] {
            Candidate::Observe(observe) => self.sees(observe).filter(|sees| !sees.is_empty()),
            Candidate::Repair(_) | Candidate::Stop(_) => None,
        };
        let mut seen: Vec<Vec<Source>> = sees(first).into_iter().collect();
        for place in others {
            match sees(place) {
                Some(sees) if seen.contains(&sees) && place.class == Class::ByCost => {
                    place.number = self.number(Class::ByCost, candidates[place.at]);
                }
                Some(sees) => seen.push(sees),
                None => {}
            }
        }
    }

    /// Puts a free look right behind the look that it goes with: the same cap is opened for both.
    fn let_looks_follow<K>(&self, candidates: &[&Candidate], places: &mut [Place<K>]) {
        let free: Vec<(CheckId, f64)> = places
            .iter()
            .filter(|place| place.class == Class::FreeLook)
            .filter_map(|place| match candidates[place.at] {
                Candidate::Observe(look) => Some((self.look(look)?, place.number)),
                _ => None,
            })
            .collect();
        for place in places.iter_mut().filter(|place| place.class == Class::FreeLook) {
            let Candidate::Observe(look) = candidates[place.at] else { continue };
            let Some(check) = self.look(look) else { continue };
            let before = &self.machine.model.checks[check].follows;
            let numbers = free.iter().filter(|(check, _)| before.contains(check)).map(|(_, number)| *number);
            let latest = numbers.fold(f64::NEG_INFINITY, f64::max);
            if latest >= place.number {
                (place.number, place.follows) = (latest, true);
            }
        }
    }

    /// Among steps of the last class whose numbers differ by less than the accuracy: the lightest first.
    fn lightest_first<K>(&self, candidates: &[&Candidate], places: &mut [Place<K>]) {
        let mut from = places.iter().take_while(|place| place.class != Class::ByCost).count();
        while from < places.len() {
            let limit = places[from].number * (1.0 + ACCURACY);
            // The costs of repairs and of stopping have no such error, and stand where they are.
            let observes = |place: &&Place<K>| matches!(candidates[place.at], Candidate::Observe(_));
            let near = places[from..].iter().take_while(observes).take_while(|p| p.number <= limit).count();
            let near = near.max(1);
            places[from..from + near].sort_by(|a, b| {
                let burden = |place: &Place<K>| self.burden(candidates[place.at]);
                burden(a).partial_cmp(&burden(b)).unwrap_or(Ordering::Equal)
            });
            from += near;
        }
    }

    fn burden(&self, candidate: &Candidate) -> Burden {
        let (action, cost) = match candidate {
            Candidate::Observe(observe) => {
                (self.context.observations[observe.observation].action.clone(), observe.cost)
            }
            Candidate::Repair(repair) => (Action::Repair(repair.repair), repair.cost),
            // Stopping is dearer than any work that costs as much.
            Candidate::Stop(stop) => {
                let cost = rounded(stop.cost());
                return Burden { involved: usize::MAX, opening: 0.0, tools: 0, minutes: 0.0, cost };
            }
        };
        let facts = steps::facts(self.machine, &action);
        Burden {
            involved: facts.involves.len(),
            opening: rounded(cost.minutes - facts.effort.minutes),
            tools: facts.needs.tools.len(),
            minutes: rounded(cost.minutes),
            cost: rounded(cost.money),
        }
    }

    /// Whether a candidate is not worth doing now: a repair or the same attempt again that saves less than it costs,
    /// and an observation that tells next to nothing.
    fn is_set_aside(&self, class: Class, candidate: &Candidate) -> bool {
        if class != Class::ByCost || rounded(candidate.expected_cost()) <= rounded(self.least) {
            return false;
        }
        match candidate {
            Candidate::Repair(repair) => {
                let cures = &self.machine.model.repairs[repair.repair].cures;
                self.context.gain(repair) * self.context.hand_over_cost < repair.cost.money
                    || cures.iter().all(|c| self.precedence.cleared.contains(c))
            }
            Candidate::Observe(observe) if observe.is_attempt => {
                self.precedence.tried
                    && self.context.posterior.p_none * self.context.hand_over_cost < observe.cost.money
            }
            Candidate::Observe(observe) => observe.information_bits < LEAST_BITS,
            Candidate::Stop(_) => false,
        }
    }
}

impl RankingContext {
    /// Merit of a look for a unit of its cost, as a share of the cost of the job: the chance that it leads to the
    /// repair that cures, and its share of all that is unknown about the causes.
    fn merit(&self, look: &ObserveCandidate) -> f64 {
        let cures = self.observe_repairs.values[look.observation];
        cures + INDIRECT * self.share_known(look) / look.cost.money.max(f64::MIN_POSITIVE)
    }

    /// What an observation tells about the causes, as a share of all that is unknown.
    fn share_known(&self, observe: &ObserveCandidate) -> f64 {
        observe.information_bits / self.doubt().max(f64::MIN_POSITIVE)
    }

    /// Chance that the engine runs after a repair and would not run without it.
    fn gain(&self, repair: &RepairCandidate) -> f64 {
        1.0 - repair.failed.p - self.posterior.p_none
    }
}

/// More lifts than a gate has, so that the places of two gates do not mix.
const MOST_LIFTS: usize = 64;

/// The place of a candidate among the actions that open a gate: the looks of each gate that can be made, or else the
/// first repair.
fn opens(context: &RankingContext, candidate: &Candidate) -> Option<usize> {
    let is = |lift: &Action| match (lift, candidate) {
        (Action::Repair(lift), Candidate::Repair(repair)) => *lift == repair.repair,
        (_, Candidate::Observe(observe)) => *lift == context.observations[observe.observation].action,
        _ => false,
    };
    let looks = |lift: &&Action| matches!(lift, Action::Check(_));
    context.lifts.iter().enumerate().find_map(|(g, gate)| {
        let possible: Vec<&Action> = gate.iter().filter(|lift| context.actions.contains(lift)).collect();
        // Looks come before repairs. Of repairs only the first one opens the gate.
        let first = match possible.iter().copied().filter(looks).collect::<Vec<&Action>>() {
            looks if looks.is_empty() => possible.into_iter().take(1).collect(),
            looks => looks,
        };
        first.into_iter().position(is).map(|place| g * gate.len().max(MOST_LIFTS) + place)
    })
}

/// Whether a step has put something right: a repair that cures something.
fn puts_right(job: &Job, step: &Step) -> bool {
    matches!(step, Step::Repair { repair, .. } if !job.machine.model.repairs[*repair].cures.is_empty())
}

/// The conditions that a step has cleared: a normal finding of whoever keeps the job.
fn cleared(job: &Job, step: &Step) -> Vec<ConditionId> {
    match step {
        Step::Check { check, finding, known: Provenance::Seen, .. }
            if job.machine.check(*check).results[finding.result()].normal =>
        {
            verdict::cleared_by(job, *check, *finding)
        }
        _ => Vec::new(),
    }
}

/// What the last step saw, if it is an abnormal finding of whoever keeps the job that no condition explains yet.
fn unexplained(job: &Job, abnormal: &[Abnormal]) -> Vec<Source> {
    let Some(Step::Check { check, known: Provenance::Seen, .. }) = job.steps.last() else {
        return Vec::new();
    };
    let explained = |a: &Abnormal| a.speaks_for.iter().any(|v| v.p_present >= PROBABLE);
    let last = abnormal.iter().find(|a| a.step + 1 == job.steps.len());
    if last.is_none_or(explained) {
        return Vec::new();
    }
    seen_by(job.machine, *check).collect()
}

/// The parts and functions that a check sees.
fn seen_by(machine: &Machine, check: CheckId) -> impl Iterator<Item = Source> {
    let parents = machine.model.checks[check].observation.parents.iter();
    parents.filter(|source| !matches!(source, Source::Context(_))).copied()
}

/// The check of a step, if whoever keeps the job made it.
fn own_check(step: &Step) -> Option<CheckId> {
    match step {
        Step::Check { check, made: true, .. } => Some(*check),
        _ => None,
    }
}

/// The conditions that the job's own findings have shown, that are still there, and that no repair since was for.
pub(super) fn found(job: &Job, causes: &[CauseOdds], abnormal: &[Abnormal]) -> Vec<ConditionId> {
    let own = |a: &&Abnormal| matches!(job.steps[a.step], Step::Check { known: Provenance::Seen, .. });
    let is_found = |id: &ConditionId| {
        let (part, condition) = job.machine.condition(*id);
        let named = |p: &str, c: &str| part.id == p && condition.id == c;
        let shown = |a: &Abnormal| {
            let speaks = a.speaks_for.iter().any(|v| v.p_present >= PROBABLE && named(&v.part, &v.condition));
            speaks && !job.steps[a.step..].iter().any(|s| is_for(job, s, *id))
        };
        causes.iter().any(|c| named(&c.part, &c.condition) && c.p_present >= PROBABLE)
            && abnormal.iter().filter(own).any(shown)
    };
    job.machine.condition_ids().filter(is_found).collect()
}

/// Whether a step is a repair of a condition.
fn is_for(job: &Job, step: &Step, condition: ConditionId) -> bool {
    matches!(step, Step::Repair { repair, .. } if job.machine.model.repairs[*repair].cures.contains(&condition))
}
