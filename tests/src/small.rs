//! Machines small enough that a search over all plans finds the optimal one.
//!
//! A small machine has two independent models. The engine reads its description ([`Small::file`]). The search
//! in `optimum.rs` uses the list of all its states ([`Small::worlds`]) with the probabilities of the results
//! in each state, and does not use the engine's algorithms.

use halfsplit::job::Outcome;
use halfsplit::machine::Machine;
use serde_json::{Value, json};

/// A small machine. A minute of work costs 1, so a price is also a number of minutes.
#[derive(Debug, Clone)]
pub struct Small {
    /// The faults of each part. A part has at most one fault at a time.
    pub parts: Vec<Vec<Fault>>,
    /// The checks.
    pub checks: Vec<Look>,
    /// The start attempts with a bypass.
    pub bypasses: Vec<Lift>,
    /// The repairs.
    pub repairs: Vec<Mend>,
    /// Price of opening the machine. A start attempt closes it again.
    pub open: f64,
    /// Price of a start attempt.
    pub attempt: f64,
    /// Probability that a machine without an acting fault runs at an attempt. Otherwise it does nothing.
    pub starts: f64,
    /// Price of handing the machine over.
    pub hand_over: f64,
}

/// A fault of a part, with its prior probabilities. An acting fault always has the same outcome.
#[derive(Debug, Clone)]
pub struct Fault {
    /// Probability that the fault is present and harmless.
    pub harmless: f64,
    /// Probability that the fault is present and stops the engine.
    pub acting: f64,
    /// Outcome of an attempt if the fault acts.
    pub outcome: Outcome,
}

/// A fault: the index of its part and its index among the faults of the part.
pub type Place = (usize, usize);

/// A check that shows whether any of some faults is present.
#[derive(Debug, Clone)]
pub struct Look {
    /// The faults that the check can show.
    pub at: Vec<Place>,
    /// Whether the check shows a fault only if it acts.
    pub acting_only: bool,
    /// Probability of every result: first if one of the faults is present, then if none is.
    pub shows: [Vec<f64>; 2],
    /// Price.
    pub price: f64,
    /// Whether the machine must be open.
    pub open: bool,
}

/// A start attempt during which some faults do not act.
#[derive(Debug, Clone)]
pub struct Lift {
    /// The faults that do not act.
    pub of: Vec<Place>,
    /// Price, including the attempt.
    pub price: f64,
}

/// A repair.
#[derive(Debug, Clone)]
pub struct Mend {
    /// The faults that it cures.
    pub cures: Vec<Place>,
    /// Probability that the repair succeeds, independently for each part.
    pub takes: f64,
    /// Price.
    pub price: f64,
    /// Whether the machine must be open.
    pub open: bool,
}

/// The state of a part: `None` if it is sound, or the index of its fault and whether the fault acts.
pub type State = Option<(usize, bool)>;

impl Small {
    /// Returns every possible state of the machine as it comes in, with its probability.
    #[must_use]
    pub fn worlds(&self) -> Vec<(Vec<State>, f64)> {
        let mut worlds = vec![(Vec::new(), 1.0)];
        for faults in &self.parts {
            let sound = 1.0 - faults.iter().map(|f| f.harmless + f.acting).sum::<f64>();
            let mut states = vec![(None, sound)];
            for (at, fault) in faults.iter().enumerate() {
                states.push((Some((at, false)), fault.harmless));
                states.push((Some((at, true)), fault.acting));
            }
            states.retain(|(_, p)| *p > 0.0);
            let longer = |(world, p): &(Vec<State>, f64)| -> Vec<_> {
                states.iter().map(|(s, share)| ([world.as_slice(), &[*s]].concat(), p * share)).collect()
            };
            worlds = worlds.iter().flat_map(longer).collect();
        }
        worlds
    }

    /// Returns the probability of every outcome of an attempt in this state. The `lifted` faults do not act.
    #[must_use]
    pub fn outcomes(&self, world: &[State], lifted: &[Place]) -> [f64; 4] {
        let acts = |(part, state): (usize, &State)| match state {
            Some((fault, true)) if !lifted.contains(&(part, *fault)) => {
                Some(self.parts[part][*fault].outcome)
            }
            _ => None,
        };
        let mut chances = [0.0; 4];
        match world.iter().enumerate().filter_map(acts).max() {
            Some(worst) => chances[worst as usize] = 1.0,
            None => (chances[0], chances[3]) = (self.starts, 1.0 - self.starts),
        }
        chances
    }

    /// Returns the probability of every result of a check in this state.
    #[must_use]
    pub fn results(&self, check: usize, world: &[State]) -> &[f64] {
        let look = &self.checks[check];
        let there = look.at.iter().any(|(part, fault)| {
            world[*part].is_some_and(|(is, acts)| is == *fault && (acts || !look.acting_only))
        });
        &look.shows[usize::from(!there)]
    }

    /// Builds the machine for the engine.
    ///
    /// # Panics
    /// If the description is invalid.
    #[must_use]
    #[track_caller]
    pub fn machine(&self) -> Machine {
        Machine::from_json(&self.file().to_string()).expect("a valid description")
    }

    /// Returns the description that the engine reads.
    #[must_use]
    pub fn file(&self) -> Value {
        const SOURCE: &str = "made up";
        let name = |(part, fault): &Place| format!("p{part}/f{fault}");
        let setups = |open: bool| if open { vec!["open"] } else { vec![] };
        let parts: Vec<Value> = self
            .parts
            .iter()
            .enumerate()
            .map(|(p, faults)| {
                let condition = |(f, fault): (usize, &Fault)| {
                    let share = |outcome| if fault.outcome == outcome { fault.acting } else { 0.0 };
                    json!({
                        "id": format!("f{f}"), "name": format!("fault {f} of part {p}"),
                        "rate": {
                            "harmless": fault.harmless, "dies": share(Outcome::Dies),
                            "tries": share(Outcome::Tries), "nothing": share(Outcome::Nothing),
                        },
                    })
                };
                let conditions: Vec<Value> = faults.iter().enumerate().map(condition).collect();
                json!({ "id": format!("p{p}"), "name": format!("part {p}"), "subsystem": "all", "conditions": conditions })
            })
            .collect();
        let checks: Vec<Value> = self
            .checks
            .iter()
            .enumerate()
            .map(|(c, look)| {
                let results: Vec<Value> = (0..look.shows[0].len())
                    .map(
                        |r| json!({ "id": format!("r{r}"), "name": format!("result {r}"), "normal": r == 0 }),
                    )
                    .collect();
                let acting = if look.acting_only { "/acting" } else { "" };
                let when: Vec<String> = look.at.iter().map(|at| name(at) + acting).collect();
                json!({
                    "id": format!("c{c}"), "name": format!("check {c}"), "kind": "tester", "how": "Look.",
                    "minutes": look.price, "setups": setups(look.open), "results": results, "source": SOURCE,
                    "rows": [{ "when": when, "p": look.shows[0] }, { "when": [], "p": look.shows[1] }],
                })
            })
            .collect();
        let bypasses: Vec<Value> = self
            .bypasses
            .iter()
            .enumerate()
            .map(|(b, lift)| {
                json!({
                    "id": format!("b{b}"), "name": format!("bypass {b}"), "how": "Try.", "minutes": lift.price,
                    "cautions": [], "lifts": lift.of.iter().map(name).collect::<Vec<_>>(), "source": SOURCE,
                })
            })
            .collect();
        let repairs: Vec<Value> = self
            .repairs
            .iter()
            .enumerate()
            .map(|(r, mend)| {
                json!({
                    "id": format!("m{r}"), "name": format!("repair {r}"), "how": "Mend.", "minutes": mend.price,
                    "parts_cost": { "low": 0, "typical": 0, "high": 0 }, "takes": mend.takes,
                    "cures": mend.cures.iter().map(name).collect::<Vec<_>>(), "setups": setups(mend.open),
                })
            })
            .collect();
        json!({
            "schema": "halfsplit-machine/2", "id": "small", "name": "A small machine", "about": SOURCE,
            "sources": [SOURCE], "trust": { "seen": 1, "told": 1, "unsure": 1 }, "tools": [], "cautions": [],
            "setups": [{ "id": "open", "name": "open", "minutes": self.open }],
            "subsystems": [{ "id": "all", "name": "all" }], "context": [], "parts": parts, "functions": [],
            "checks": checks,
            "attempt": {
                "how": "Start it.", "minutes": self.attempt, "source": SOURCE,
                "law": {
                    "harmless": [self.starts, 0.0, 0.0, 1.0 - self.starts],
                    "dies": [0, 1, 0, 0], "tries": [0, 0, 1, 0], "nothing": [0, 0, 0, 1],
                },
            },
            "bypasses": bypasses, "repairs": repairs,
            "defaults": { "rate_per_hour": 60, "hand_over_cost": self.hand_over },
        })
    }
}
