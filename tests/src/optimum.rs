//! The least expected cost on a [`Small`] machine and the expected cost of the advice, both by enumeration of
//! all results.
//!
//! This module takes only the advice from the engine. A belief is a list of all states of the machine with
//! their probabilities, updated by Bayes' rule.

use std::collections::HashMap;

use halfsplit::advise::{Assessment, JobStatus, StepKind};
use halfsplit::job::{Job, JobFile, Outcome, StepRecord};

use crate::small::{Place, Small, State};
use crate::{attempt, bypass, found, job, repair};

/// A state of knowledge: the belief, the checks whose result is known, and whether the machine is open.
#[derive(Debug, Clone)]
struct Known {
    /// The possible worlds by index, in ascending order, with their probabilities.
    chances: Vec<(u16, f64)>,
    /// Bit i is set if the result of check i is known: another look would show the same.
    seen: u32,
    open: bool,
}

/// An action.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Act {
    Check(usize),
    Attempt,
    Bypass(usize),
    Repair(usize),
}

/// The tables of a machine that the computation uses. A world is a state of the whole machine.
#[derive(Debug)]
pub struct Layout<'s> {
    small: &'s Small,
    worlds: Vec<Vec<State>>,
    /// Prior probability of each world.
    at_first: Vec<f64>,
    /// Probability of every result, by act and world.
    shown: Vec<Vec<Vec<f64>>>,
    /// The worlds after a repair with their probabilities, by repair and world.
    after: Vec<Vec<Vec<(usize, f64)>>>,
    /// Lower bound on the cost, by world; first with the machine shut, then with it open.
    floor: [Vec<f64>; 2],
}

/// Probabilities up to this value count as zero: they are rounding errors.
const NOTHING: f64 = 1e-12;

impl<'s> Layout<'s> {
    /// Computes the tables of a machine.
    #[must_use]
    pub fn new(small: &'s Small) -> Self {
        // A repair can lead to a world of prior probability zero, so the list of worlds grows.
        let (mut worlds, mut at_first): (Vec<_>, Vec<_>) = small.worlds().into_iter().unzip();
        let mut places: HashMap<Vec<State>, usize> = worlds.iter().cloned().zip(0..).collect();
        let mut after: Vec<Vec<Vec<(usize, f64)>>> = vec![Vec::new(); small.repairs.len()];
        let mut at = 0;
        while at < worlds.len() {
            for (mend, after) in small.repairs.iter().zip(&mut after) {
                let mut then = vec![(worlds[at].clone(), 1.0)];
                for (part, state) in worlds[at].iter().enumerate() {
                    if state.is_some_and(|(fault, _)| mend.cures.contains(&(part, fault))) {
                        let cured = |(world, p): &(Vec<State>, f64)| {
                            let mut sound = world.clone();
                            sound[part] = None;
                            [(sound, p * mend.takes), (world.clone(), p * (1.0 - mend.takes))]
                        };
                        then = then.iter().flat_map(cured).filter(|(_, p)| *p > 0.0).collect();
                    }
                }
                let mut place = |world: Vec<State>| {
                    *places.entry(world.clone()).or_insert_with(|| {
                        worlds.push(world);
                        at_first.push(0.0);
                        worlds.len() - 1
                    })
                };
                after.push(then.into_iter().map(|(world, p)| (place(world), p)).collect());
            }
            at += 1;
        }
        let mut layout =
            Layout { small, worlds, at_first, shown: Vec::new(), after, floor: Default::default() };
        let acts: Vec<Act> = layout.acts().collect();
        for act in acts {
            layout.shown.push(layout.worlds.iter().map(|w| layout.shows(act, w)).collect());
        }
        layout.floor =
            [false, true].map(|open| layout.worlds.iter().map(|w| layout.floor(w, open)).collect());
        layout
    }

    fn acts(&self) -> impl Iterator<Item = Act> + use<'s> {
        let small = self.small;
        (0..small.checks.len())
            .map(Act::Check)
            .chain([Act::Attempt])
            .chain((0..small.bypasses.len()).map(Act::Bypass))
            .chain((0..small.repairs.len()).map(Act::Repair))
    }

    fn place(&self, act: Act) -> usize {
        let (checks, bypasses) = (self.small.checks.len(), self.small.bypasses.len());
        match act {
            Act::Check(c) => c,
            Act::Attempt => checks,
            Act::Bypass(b) => checks + 1 + b,
            Act::Repair(r) => checks + 1 + bypasses + r,
        }
    }

    fn shows(&self, act: Act, world: &[State]) -> Vec<f64> {
        match act {
            Act::Check(c) => self.small.results(c, world).to_vec(),
            Act::Attempt => self.small.outcomes(world, &[]).to_vec(),
            Act::Bypass(b) => self.small.outcomes(world, &self.small.bypasses[b].of).to_vec(),
            Act::Repair(_) => vec![1.0],
        }
    }

    /// Returns a lower bound on the cost in `world`: the cost for somebody who knows all faults.
    ///
    /// That person either hands the machine over, or repairs all acting faults and starts the machine. The
    /// bound counts each repair until it succeeds, attempts until the machine starts, and one opening if
    /// a repair needs it.
    fn floor(&self, world: &[State], open: bool) -> f64 {
        let wrong: Vec<Place> =
            world.iter().enumerate().filter_map(|(p, s)| s.filter(|s| s.1).map(|s| (p, s.0))).collect();
        let repairs = &self.small.repairs;
        let mut best = self.small.hand_over;
        for chosen in 0_u32..1 << repairs.len() {
            let some = || repairs.iter().enumerate().filter(|(r, _)| chosen >> r & 1 == 1).map(|(_, m)| m);
            if wrong.iter().all(|w| some().any(|m| m.cures.contains(w))) {
                let opening = if !open && some().any(|m| m.open) { self.small.open } else { 0.0 };
                let price: f64 = some().map(|m| m.price / m.takes).sum();
                best = best.min(price + opening + self.small.attempt / self.small.starts);
            }
        }
        best
    }

    fn price(&self, act: Act, open: bool) -> f64 {
        let small = self.small;
        let opening = |needs: bool| if needs && !open { small.open } else { 0.0 };
        match act {
            Act::Check(c) => small.checks[c].price + opening(small.checks[c].open),
            Act::Attempt => small.attempt,
            Act::Bypass(b) => small.bypasses[b].price,
            Act::Repair(r) => small.repairs[r].price + opening(small.repairs[r].open),
        }
    }

    /// Returns every result of `act` with its probability and the state of knowledge after it.
    ///
    /// The outcome "runs" of an attempt without a bypass ends the job and is left out.
    fn outlook(&self, known: &Known, act: Act) -> Vec<(usize, f64, Known)> {
        let small = self.small;
        let (mut seen, mut open) = (known.seen, known.open);
        match act {
            Act::Check(c) => {
                seen |= 1 << c;
                open |= small.checks[c].open;
            }
            Act::Attempt | Act::Bypass(_) => open = false,
            Act::Repair(r) => {
                let mend = &small.repairs[r];
                open |= mend.open;
                // After a repair on a part, the results of the checks on that part are unknown again.
                let touched = |look: &crate::small::Look| {
                    look.at.iter().any(|(part, _)| mend.cures.iter().any(|(p, _)| p == part))
                };
                for (c, _) in small.checks.iter().enumerate().filter(|(_, look)| touched(look)) {
                    seen &= !(1 << c);
                }
                let mut all = vec![0.0; self.worlds.len()];
                for (world, p) in &known.chances {
                    self.after[r][usize::from(*world)]
                        .iter()
                        .for_each(|(then, share)| all[*then] += p * share);
                }
                let chances = possible(&all);
                return vec![(0, 1.0, Known { chances, seen, open })];
            }
        }
        let shown = &self.shown[self.place(act)];
        let runs = |r: usize| act == Act::Attempt && r == Outcome::Runs as usize;
        (0..shown[0].len())
            .filter(|r| !runs(*r))
            .filter_map(|r| {
                let with = |(world, p): &(u16, f64)| (*world, p * shown[usize::from(*world)][r]);
                let mut chances: Vec<(u16, f64)> = known.chances.iter().map(with).collect();
                let p: f64 = chances.iter().map(|(_, p)| p).sum();
                chances.iter_mut().for_each(|(_, c)| *c /= p);
                chances.retain(|(_, c)| *c > NOTHING);
                (p > NOTHING).then_some((r, p, Known { chances, seen, open }))
            })
            .collect()
    }

    /// Returns each failed outcome of the first attempt with its probability and the knowledge after it.
    fn brought(&self) -> Vec<(usize, f64, Known)> {
        let unseen = Known { chances: possible(&self.at_first), seen: 0, open: false };
        let mut outcomes = self.outlook(&unseen, Act::Attempt);
        let all: f64 = outcomes.iter().map(|(_, p, _)| p).sum();
        outcomes.iter_mut().for_each(|(_, p, _)| *p /= all);
        outcomes
    }

    /// Returns bounds on the least expected cost for machines that did not start.
    ///
    /// The search ends when the gap is at most the share `within` of the lower bound, or after `most` walks
    /// or states of knowledge.
    #[must_use]
    pub fn optimum(&self, ways: Ways, within: f64, most: usize) -> Bounds {
        let mut search = Search { layout: self, ways, nodes: Vec::new(), places: HashMap::new() };
        let roots: Vec<(f64, usize)> =
            self.brought().into_iter().map(|(_, p, known)| (p, search.node(known))).collect();
        let mut bounds = search.mean(&roots);
        for _ in 0..most {
            if bounds.gap() <= within * bounds.low || search.nodes.len() > most {
                break;
            }
            search.walk(&roots, within * bounds.low);
            bounds = search.mean(&roots);
        }
        bounds
    }

    /// Returns a lower bound on the expected cost: the mean of the bounds of the worlds.
    fn least(&self, known: &Known) -> f64 {
        let floor = &self.floor[usize::from(known.open)];
        known.chances.iter().map(|(world, p)| p * floor[usize::from(*world)]).sum()
    }

    /// Returns the expected cost of the advice, followed to the end on machines that did not start.
    ///
    /// Calls `on_the_way` with every assessment and a function that returns a fault's probability of acting.
    ///
    /// # Panics
    /// If the engine rejects a job.
    pub fn advised(&self, mut on_the_way: impl FnMut(&Assessment, &dyn Fn(Place) -> f64)) -> f64 {
        let machine = self.small.machine();
        let mut cost = 0.0;
        let mut to_do: Vec<(f64, Known, JobFile)> = Vec::new();
        for (outcome, p, known) in self.brought() {
            let file = JobFile { machine: "small".into(), ..job(&[attempt(Outcome::ALL[outcome])]) };
            to_do.push((p, known, file));
        }
        while let Some((reached, known, file)) = to_do.pop() {
            let job = Job::new(&machine, &file).expect("a valid job");
            let answer = job.assess().expect("possible findings");
            assert_eq!(answer.status, JobStatus::Open);
            on_the_way(&answer, &|(part, fault)| {
                let is = |world: u16| self.worlds[usize::from(world)][part] == Some((fault, true));
                known.chances.iter().filter(|(w, _)| is(*w)).map(|(_, p)| p).sum()
            });
            let next = answer.next.expect("an open job has advice");
            let place = |id: &str| id[1..].parse::<usize>().expect("an id as in the description");
            let act = match next.kind {
                StepKind::Check => Act::Check(place(&next.id)),
                StepKind::Attempt => Act::Attempt,
                StepKind::Bypass => Act::Bypass(place(&next.id)),
                StepKind::Repair => Act::Repair(place(&next.id)),
                StepKind::HandOver => {
                    cost += reached * self.small.hand_over;
                    continue;
                }
            };
            cost += reached * self.price(act, known.open);
            for (result, p, then) in self.outlook(&known, act) {
                let mut longer = file.clone();
                longer.steps.push(match act {
                    Act::Check(_) => found(&next.id, &format!("r{result}")),
                    Act::Attempt => attempt(Outcome::ALL[result]),
                    Act::Bypass(_) => bypass(&next.id, Outcome::ALL[result]),
                    Act::Repair(_) => repair(&next.id),
                });
                if !next.then_try {
                    self.go_on(reached * p, then, longer, &mut cost, &mut to_do);
                    continue;
                }
                // The advice includes an attempt right after this repair in its cost.
                cost += reached * self.small.attempt;
                for (outcome, p, tried) in self.outlook(&then, Act::Attempt) {
                    let mut tried_file = longer.clone();
                    tried_file.steps.push(attempt(Outcome::ALL[outcome]));
                    self.go_on(reached * p, tried, tried_file, &mut cost, &mut to_do);
                }
            }
        }
        cost
    }

    /// Adds a job to `to_do`. A very improbable or very long job counts as handed over instead.
    fn go_on(
        &self,
        reached: f64,
        known: Known,
        file: JobFile,
        cost: &mut f64,
        to_do: &mut Vec<(f64, Known, JobFile)>,
    ) {
        const HARDLY_EVER: f64 = 1e-5;
        const LONGEST: usize = 40;
        if reached < HARDLY_EVER || file.steps.len() > LONGEST {
            *cost += reached * self.small.hand_over;
        } else {
            to_do.push((reached, known, file));
        }
    }
}

/// Returns the probabilities above [`NOTHING`] with their indices.
fn possible(all: &[f64]) -> Vec<(u16, f64)> {
    all.iter().zip(0..).filter(|(p, _)| **p > NOTHING).map(|(p, at)| (at, *p)).collect()
}

/// The set of plans that the search considers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ways {
    /// Plans with a start attempt after every repair, as in the published examples.
    TryAfterRepair,
    /// All plans, for example two repairs while the machine is open, as in the advice.
    Any,
}

/// Lower and upper bound on a value.
#[derive(Debug, Clone, Copy)]
pub struct Bounds {
    /// Lower bound.
    pub low: f64,
    /// Upper bound.
    pub high: f64,
}

impl Bounds {
    fn gap(self) -> f64 {
        self.high - self.low
    }
}

/// An action: its price, and the probability and the node of every result.
type Choice = (f64, Vec<(f64, usize)>);

/// A node of the search: a state of knowledge with bounds on its expected cost.
struct Node {
    known: Known,
    bounds: Bounds,
    /// The actions that may still be optimal; `None` before the node is expanded.
    acts: Option<Vec<Choice>>,
}

/// The key of a node: rounded probabilities of the worlds, known checks, and whether the machine is open.
type Key = (Vec<(u16, u64)>, u32, bool);

/// Heuristic search value iteration (Smith and Simmons 2004, "Heuristic search value iteration for POMDPs").
///
/// Each walk takes the action with the least lower bound and the result with the largest weighted gap, and
/// then updates the bounds of the nodes that it passed.
struct Search<'a, 's> {
    layout: &'a Layout<'s>,
    ways: Ways,
    nodes: Vec<Node>,
    places: HashMap<Key, usize>,
}

impl Search<'_, '_> {
    /// Returns the index of the node for this knowledge, and adds the node if it is new.
    fn node(&mut self, known: Known) -> usize {
        let key = known.chances.iter().map(|(w, p)| (*w, (p * 1e11).round() as u64)).collect();
        let bounds = Bounds { low: self.layout.least(&known), high: self.layout.small.hand_over };
        let Search { nodes, places, .. } = self;
        *places.entry((key, known.seen, known.open)).or_insert_with(|| {
            nodes.push(Node { known, bounds, acts: None });
            nodes.len() - 1
        })
    }

    /// Returns the mean bounds of some nodes, weighted by probability.
    fn mean(&self, of: &[(f64, usize)]) -> Bounds {
        let sum = |get: fn(Bounds) -> f64| of.iter().map(|(p, at)| p * get(self.nodes[*at].bounds)).sum();
        Bounds { low: sum(|b| b.low), high: sum(|b| b.high) }
    }

    /// Walks down from the roots, and updates the bounds on the way back.
    fn walk(&mut self, roots: &[(f64, usize)], precision: f64) {
        const LONGEST: usize = 60;
        const RARE: f64 = 1e-9;
        let mut way = Vec::new();
        let (mut next, mut reached) = (self.most_uncertain(roots), 1.0);
        while let Some((p, at)) = next {
            reached *= p;
            if way.len() == LONGEST || reached < RARE || self.nodes[at].bounds.gap() < precision / 2.0 {
                break;
            }
            way.push(at);
            self.open(at);
            let acts = self.nodes[at].acts.as_deref().unwrap_or_default();
            let low = |(price, then): &Choice| price + self.mean(then).low;
            let best = acts.iter().min_by(|a, b| low(a).total_cmp(&low(b)));
            next = best.and_then(|(_, then)| self.most_uncertain(then));
        }
        for at in way.into_iter().rev() {
            self.revise(at);
        }
    }

    fn most_uncertain(&self, of: &[(f64, usize)]) -> Option<(f64, usize)> {
        let weight = |(p, at): &(f64, usize)| p * self.nodes[*at].bounds.gap();
        of.iter().max_by(|a, b| weight(a).total_cmp(&weight(b))).copied()
    }

    /// Expands a node: lists the actions that may be optimal, and adds the nodes of their results.
    fn open(&mut self, at: usize) {
        if self.nodes[at].acts.is_some() {
            return;
        }
        let (layout, known) = (self.layout, self.nodes[at].known.clone());
        let mut acts = Vec::new();
        for act in layout.acts() {
            if matches!(act, Act::Check(c) if known.seen >> c & 1 == 1) {
                continue;
            }
            let mut price = layout.price(act, known.open);
            let mut outlook = layout.outlook(&known, act);
            if matches!(act, Act::Repair(_)) {
                if self.ways == Ways::TryAfterRepair {
                    price += layout.small.attempt;
                    outlook =
                        outlook.iter().flat_map(|(_, _, then)| layout.outlook(then, Act::Attempt)).collect();
                }
            } else if outlook.first().is_some_and(|(_, p, _)| *p > 1.0 - NOTHING) {
                // A result that is certain gives no information.
                continue;
            }
            let least: f64 = outlook.iter().map(|(_, p, then)| p * layout.least(then)).sum();
            if price + least < layout.small.hand_over {
                acts.push((price, outlook.into_iter().map(|(_, p, then)| (p, self.node(then))).collect()));
            }
        }
        self.nodes[at].acts = Some(acts);
    }

    /// Updates the bounds of a node from the bounds of the nodes that follow it.
    fn revise(&mut self, at: usize) {
        let Some(mut acts) = self.nodes[at].acts.take() else { return };
        let hand_over = self.layout.small.hand_over;
        let mut bounds = Bounds { low: hand_over, high: hand_over };
        let mut lows = Vec::with_capacity(acts.len());
        for (price, then) in &acts {
            let mean = self.mean(then);
            lows.push(price + mean.low);
            bounds.low = bounds.low.min(price + mean.low);
            bounds.high = bounds.high.min(price + mean.high);
        }
        // An action whose lower bound exceeds the upper bound of the node cannot be optimal.
        let mut low = lows.iter();
        acts.retain(|_| low.next().is_none_or(|low| *low <= bounds.high));
        let node = &mut self.nodes[at];
        node.acts = Some(acts);
        node.bounds =
            Bounds { low: node.bounds.low.max(bounds.low), high: node.bounds.high.min(bounds.high) };
    }
}

/// Returns a job on a small machine with these steps.
#[must_use]
pub fn small_job(steps: &[StepRecord]) -> JobFile {
    JobFile { machine: "small".into(), ..job(steps) }
}
