//! What the trade says of engines that do not start, as tables of our own; and a machine of which nothing
//! is known but that.
//!
//! All figures are common practice, no counted source: opening values of the trade, in percent of
//! no-starts, in minutes of hands-on work, in dollars of the 2020s.

use halfsplit::job::{Job, JobFile, Outcome};
use halfsplit::machine::Machine;
use halfsplit_bayes::{Evidence, JunctionTree, Network, Posterior, VarId};

use crate::{attempt, job};

/// What stands as one fault in the trade, as our conditions; its share of what stops engines that do
/// not start, and the share of these in which it is found and not the reason, in percent; minutes of
/// the repair, and the price of its parts: low, typical, high.
pub type Fault = (&'static [&'static str], f64, f64, f64, [f64; 3]);

/// Every fault of the mower.
#[rustfmt::skip]
pub const FAULTS: [Fault; 45] = [
    (&["tank/empty"], 3.2, 1.0, 3.0, [0.0, 3.0, 8.0]),
    (&["fuel-line/tap-shut"], 1.5, 1.0, 1.0, [0.0, 0.0, 12.0]),
    (&["fuel/stale"], 14.0, 25.0, 15.0, [3.0, 5.0, 12.0]),
    (&["bowl/water"], 4.2, 8.0, 20.0, [3.0, 6.0, 15.0]),
    (&["fuel/wrong"], 1.5, 1.0, 30.0, [4.0, 10.0, 20.0]),
    (&["jet/gummed"], 18.0, 15.0, 35.0, [4.0, 12.0, 45.0]),
    (&["needle/stuck-shut"], 3.0, 2.0, 25.0, [3.0, 8.0, 45.0]),
    (&["needle/leaking"], 3.0, 4.0, 25.0, [3.0, 9.0, 45.0]),
    (&["fuel-line/blocked"], 2.5, 4.0, 15.0, [2.0, 6.0, 15.0]),
    (&["tank-cap/blocked"], 1.0, 3.0, 4.0, [0.0, 8.0, 20.0]),
    (&["primer/failed"], 2.5, 5.0, 15.0, [2.0, 7.0, 20.0]),
    (&["choke/not-closing"], 2.5, 6.0, 12.0, [0.0, 8.0, 30.0]),
    (&["choke/stuck-closed"], 1.2, 2.0, 12.0, [0.0, 8.0, 30.0]),
    (&["cylinder/flooded"], 3.5, 10.0, 10.0, [0.0, 0.0, 6.0]),
    (&["diaphragm/stiff"], 1.0, 2.0, 25.0, [4.0, 9.0, 20.0]),
    (&["intake/leak"], 1.5, 3.0, 20.0, [1.0, 6.0, 25.0]),
    (&["filter/dirty", "filter/packed", "filter/soaked"], 2.2, 28.0, 4.0, [3.0, 8.0, 18.0]),
    (&["exhaust/blocked"], 0.5, 1.0, 15.0, [0.0, 5.0, 35.0]),
    (&["plug/fouled"], 4.0, 20.0, 5.0, [3.0, 5.0, 10.0]),
    (&["plug/cracked"], 1.6, 3.0, 5.0, [3.0, 5.0, 10.0]),
    (&["plug-gap/wide", "plug-gap/closed"], 0.6, 12.0, 4.0, [0.0, 0.0, 6.0]),
    (&["lead/off"], 1.5, 2.0, 2.0, [0.0, 2.0, 10.0]),
    (&["stop-lead/grounded"], 1.4, 0.5, 25.0, [0.0, 4.0, 15.0]),
    (&["coil/dead"], 2.6, 0.0, 35.0, [12.0, 28.0, 70.0]),
    (&["coil/weak-hot"], 0.7, 1.0, 35.0, [12.0, 28.0, 70.0]),
    (&["magnet/wide-gap", "magnet/weak"], 0.7, 4.0, 25.0, [0.0, 2.0, 60.0]),
    (&["points/bad"], 0.5, 1.0, 40.0, [6.0, 12.0, 25.0]),
    (&["control/in-stop"], 2.5, 1.0, 1.0, [0.0, 0.0, 0.0]),
    (&["brake/misset"], 1.6, 2.0, 20.0, [0.0, 12.0, 30.0]),
    (&["cable/misset"], 1.2, 8.0, 12.0, [0.0, 10.0, 22.0]),
    (&["low-oil-switch/cutting-out"], 0.4, 1.0, 10.0, [4.0, 8.0, 35.0]),
    (&["valves/stuck-open"], 1.1, 0.5, 60.0, [0.0, 8.0, 40.0]),
    (&["valves/leaking"], 1.0, 6.0, 90.0, [4.0, 15.0, 60.0]),
    (&["pushrods/off"], 0.4, 0.3, 50.0, [6.0, 15.0, 40.0]),
    (&["head-gasket/blown"], 0.7, 2.0, 60.0, [5.0, 12.0, 30.0]),
    (&["rings/worn"], 1.0, 12.0, 240.0, [0.0, 5.0, 120.0]),
    (&["compression-release/stuck"], 0.4, 1.0, 120.0, [8.0, 25.0, 60.0]),
    (&["key/sheared"], 2.2, 1.5, 45.0, [2.0, 4.0, 8.0]),
    (&["camshaft/off"], 0.1, 0.1, 180.0, [5.0, 30.0, 90.0]),
    (&["recoil/broken"], 2.0, 2.0, 30.0, [3.0, 15.0, 45.0]),
    (&["crank/seized"], 0.8, 0.0, 30.0, [0.0, 10.0, 300.0]),
    (&["headspace/locked"], 1.2, 0.5, 20.0, [3.0, 8.0, 20.0]),
    (&["blade/jammed"], 0.5, 1.0, 15.0, [0.0, 0.0, 10.0]),
    (&["blade/loose"], 0.5, 2.0, 15.0, [0.0, 12.0, 35.0]),
    (&["crank/broken"], 0.4, 0.3, 0.0, [0.0, 0.0, 300.0]),
];

/// A condition among engines that do not start.
pub struct Share {
    /// `part/condition`.
    pub id: String,
    /// Its group.
    pub subsystem: String,
    /// Whether it stands for what is not listed.
    pub left_over: bool,
    /// Share of all that stops them, in percent.
    pub cause: f64,
    /// Share of the engines in which it is found and does not stop them, in percent.
    pub there: f64,
}

/// A machine after a start that failed in one way or another, and everything that could be found next.
pub struct NoStart {
    network: Network,
    tree: JunctionTree,
    found: Evidence,
}

impl NoStart {
    /// # Panics
    /// If the machine has no network.
    #[must_use]
    pub fn of(machine: &Machine) -> Self {
        let file = JobFile { machine: machine.id().into(), ..job(&[attempt(Outcome::Nothing)]) };
        let (network, _) = Job::new(machine, &file).and_then(|j| j.network()).expect("a network");
        let tree = JunctionTree::compile(&network).expect("a tree");
        let mut found = Evidence::new();
        let outcome = starting_with(&network, "step 1: attempt");
        found.set_likelihood(&network, outcome, vec![0.0, 1.0, 1.0, 1.0]).expect("a likelihood");
        NoStart { network, tree, found }
    }

    /// What is known: that it does not start.
    #[must_use]
    pub fn found(&self) -> Evidence {
        self.found.clone()
    }

    /// The odds of everything.
    ///
    /// # Panics
    /// On impossible evidence.
    #[must_use]
    pub fn given(&self, evidence: &Evidence) -> Posterior {
        self.tree.posterior(evidence).expect("possible")
    }

    /// Adds that a context is in a state.
    ///
    /// # Panics
    /// On an unknown name.
    pub fn context(&self, evidence: &mut Evidence, context: &str, state: &str) {
        let var = self.network.require(context).expect("a context");
        evidence.observe(&self.network, var, state).expect("a state");
    }

    /// Adds, for each of some parts, that one of the `part/condition` acts, or that none does.
    ///
    /// # Panics
    /// On an unknown name.
    pub fn acting(&self, evidence: &mut Evidence, ids: &[&str], act: bool) {
        self.weigh(evidence, ids, |condition, state| (state == format!("{condition}/acting")) == act);
    }

    /// Adds that a `part/condition` is there, whether it acts or not.
    ///
    /// # Panics
    /// On an unknown name.
    pub fn present(&self, evidence: &mut Evidence, id: &str) {
        self.weigh(evidence, &[id], |condition, state| state.starts_with(&format!("{condition}/")));
    }

    fn weigh(&self, evidence: &mut Evidence, ids: &[&str], possible: impl Fn(&str, &str) -> bool) {
        for id in ids {
            let (part, condition) = id.split_once('/').expect("part/condition");
            let var = self.part(part);
            let states = self.network.variable(var).states().iter();
            let weights: Vec<f64> = states.map(|s| f64::from(u8::from(possible(condition, s)))).collect();
            evidence.set_likelihood(&self.network, var, weights).expect("a likelihood");
        }
    }

    fn part(&self, part: &str) -> VarId {
        self.network.require(&format!("part {part}")).expect("a part")
    }

    /// Chances, in percent, that `part/condition` acts, and that it is there and does not.
    ///
    /// # Panics
    /// On an unknown name.
    #[must_use]
    pub fn chances(&self, posterior: &Posterior, id: &str) -> (f64, f64) {
        let (part, condition) = id.split_once('/').expect("part/condition");
        let var = self.part(part);
        let states = self.network.variable(var).states().iter().zip(posterior.marginal(var));
        let of = |severity: &str| -> f64 {
            let wanted = format!("{condition}/{severity}");
            states.clone().filter(|(s, _)| **s == wanted).map(|(_, p)| 100.0 * p).sum()
        };
        (of("acting"), of("harmless"))
    }

    /// Every condition of the machine: its share of what stops such engines, and how often it is merely there.
    ///
    /// # Panics
    /// If this is not about the machine.
    #[must_use]
    pub fn shares(&self, machine: &Machine) -> Vec<Share> {
        let posterior = self.given(&self.found);
        let mut all = Vec::new();
        for part in &machine.file().parts {
            for condition in &part.conditions {
                let id = format!("{}/{}", part.id, condition.id);
                let (cause, there) = self.chances(&posterior, &id);
                all.push(Share {
                    id,
                    subsystem: part.subsystem.clone(),
                    left_over: part.left_over,
                    cause,
                    there,
                });
            }
        }
        let whole: f64 = all.iter().map(|s| s.cause).sum();
        all.iter_mut().for_each(|s| s.cause *= 100.0 / whole);
        all
    }

    /// Chances, in percent, of the results of a check, by groups.
    ///
    /// # Panics
    /// On an unknown name.
    #[must_use]
    pub fn results(&self, posterior: &Posterior, check: &str, groups: &[&[&str]]) -> Vec<f64> {
        let leaf = starting_with(&self.network, &format!("next: {check} #"));
        let states = self.network.variable(leaf).states();
        let marginal = posterior.marginal(leaf);
        let chance = |id: &&str| 100.0 * marginal[states.iter().position(|s| s == id).expect("a result")];
        groups.iter().map(|group| group.iter().map(chance).sum()).collect()
    }
}

fn starting_with(network: &Network, start: &str) -> VarId {
    network.iter().find(|(_, v)| v.name().starts_with(start)).expect(start).0
}
