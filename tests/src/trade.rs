//! The experience of the trade with engines that do not start, as a table, and the network of a machine that
//! did not start.
//!
//! The figures are estimates from common practice, not counts. Shares are in percent of the engines that do
//! not start, times in minutes of hands-on work, prices in dollars of the 2020s.

use halfsplit::job::{Job, JobFile, Outcome};
use halfsplit::machine::Machine;
use halfsplit_bayes::{Evidence, JunctionTree, Network, Posterior, VarId};

use crate::{attempt, job};

/// A fault as the trade names it.
///
/// The fields are: the conditions of the mower that it covers; the percentage of no-starts that it causes;
/// the percentage of no-starts in which it is present but not the cause; the minutes of the repair; and the
/// low, typical and high price of the repair's parts.
pub type Fault = (&'static [&'static str], f64, f64, f64, [f64; 3]);

/// All faults of the mower.
#[rustfmt::skip]
pub const FAULTS: [Fault; 45] = [
    // Present without stopping it is a low tank: one in ten. Common practice, no source.
    (&["tank/empty"], 3.2, 10.0, 3.0, [0.0, 3.0, 8.0]),
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

/// The shares of one condition among engines that do not start.
pub struct Share {
    /// The condition as `part/condition`.
    pub id: String,
    /// The subsystem of the part.
    pub subsystem: String,
    /// Whether the part stands for all causes that are not listed.
    pub left_over: bool,
    /// Percentage of no-starts that this condition causes.
    pub cause: f64,
    /// Percentage of the engines in which the condition is present but harmless.
    pub there: f64,
}

/// The network of a machine after one failed start attempt, with the results of all possible next steps.
pub struct NoStart {
    network: Network,
    tree: JunctionTree,
    found: Evidence,
}

impl NoStart {
    /// Builds the network of `machine` and the evidence that it does not start.
    ///
    /// # Panics
    /// If the network cannot be built.
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

    /// Returns the evidence that the machine does not start.
    #[must_use]
    pub fn found(&self) -> Evidence {
        self.found.clone()
    }

    /// Returns the posterior of every variable given the evidence.
    ///
    /// # Panics
    /// If the evidence is impossible.
    #[must_use]
    pub fn given(&self, evidence: &Evidence) -> Posterior {
        self.tree.posterior(evidence).expect("possible")
    }

    /// Adds the evidence that a context variable is in a state.
    ///
    /// # Panics
    /// If a name is unknown.
    pub fn context(&self, evidence: &mut Evidence, context: &str, state: &str) {
        let var = self.network.require(context).expect("a context");
        evidence.observe(&self.network, var, state).expect("a state");
    }

    /// Adds the evidence that each `part/condition` of `ids` acts, or, if `act` is false, that it does not.
    ///
    /// # Panics
    /// If a part is unknown.
    pub fn acting(&self, evidence: &mut Evidence, ids: &[&str], act: bool) {
        self.weigh(evidence, ids, |condition, state| (state == format!("{condition}/acting")) == act);
    }

    /// Adds the evidence that a `part/condition` is present, acting or harmless.
    ///
    /// # Panics
    /// If the part is unknown.
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

    /// Returns the probabilities, in percent, that `part/condition` acts and that it is present but harmless.
    ///
    /// # Panics
    /// If the part is unknown.
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

    /// Returns the shares of every condition of the machine, as a cause and as harmless.
    ///
    /// # Panics
    /// If `machine` is not the machine of this network.
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

    /// Returns the probability, in percent, of each group of results of a check.
    ///
    /// # Panics
    /// If a name is unknown.
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
