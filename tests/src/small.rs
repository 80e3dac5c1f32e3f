//! Machines small enough that the best way through them can be found by trying everything.
//!
//! What such a machine is lives twice: as a description for the engine ([`Small::file`]), and as the list of
//! all states it can be in with what is likely to be seen in each ([`Small::worlds`], `optimum.rs`), which
//! has nothing in common with the engine.

use halfsplit::job::Outcome;
use halfsplit::machine::Machine;
use serde_json::{Value, json};

/// A machine.
#[derive(Debug, Clone)]
pub struct Small {
    /// By part: what can be wrong with it, one at a time.
    pub parts: Vec<Vec<Fault>>,
    /// What can be looked at.
    pub checks: Vec<Look>,
    /// Starts with something lifted.
    pub bypasses: Vec<Lift>,
    /// What can be made good.
    pub repairs: Vec<Mend>,
    /// Price of opening the machine, which a start attempt closes.
    pub open: f64,
    /// Price of a start attempt.
    pub attempt: f64,
    /// Chance that a machine with nothing wrong runs at an attempt; else it does nothing.
    pub starts: f64,
    /// Price of giving up.
    pub hand_over: f64,
}

/// Something that can be wrong, with its shares of machines. It always acts in the same way.
#[derive(Debug, Clone)]
pub struct Fault {
    /// There, and does not matter.
    pub harmless: f64,
    /// There, and stops the engine.
    pub acting: f64,
    /// What the engine does then.
    pub outcome: Outcome,
}

/// A part and one of its faults, by their places.
pub type Place = (usize, usize);

/// A check: whether any of some faults is there.
#[derive(Debug, Clone)]
pub struct Look {
    /// The faults.
    pub at: Vec<Place>,
    /// Whether it shows only those that act.
    pub acting_only: bool,
    /// Chance of every result if one of them is there, and if none is.
    pub shows: [Vec<f64>; 2],
    /// Price.
    pub price: f64,
    /// Whether the machine must be open.
    pub open: bool,
}

/// A start attempt during which some faults do not act.
#[derive(Debug, Clone)]
pub struct Lift {
    /// The faults.
    pub of: Vec<Place>,
    /// Price, the attempt included.
    pub price: f64,
}

/// A repair.
#[derive(Debug, Clone)]
pub struct Mend {
    /// What it makes good.
    pub cures: Vec<Place>,
    /// Chance that it takes, for each part on its own.
    pub takes: f64,
    /// Price.
    pub price: f64,
    /// Whether the machine must be open.
    pub open: bool,
}

/// What a part is like: sound, or with a fault that acts or does not.
pub type State = Option<(usize, bool)>;

impl Small {
    /// Every state that the machine can be in when it comes, with its chance.
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

    /// Chance of every outcome of an attempt on a machine in this state, some faults lifted.
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

    /// Chance of every result of a check on a machine in this state.
    #[must_use]
    pub fn results(&self, check: usize, world: &[State]) -> &[f64] {
        let look = &self.checks[check];
        let there = look.at.iter().any(|(part, fault)| {
            world[*part].is_some_and(|(is, acts)| is == *fault && (acts || !look.acting_only))
        });
        &look.shows[usize::from(!there)]
    }

    /// The machine for the engine; a minute costs 1.
    ///
    /// # Panics
    /// If it is not valid.
    #[must_use]
    #[track_caller]
    pub fn machine(&self) -> Machine {
        Machine::from_json(&self.file().to_string()).expect("a valid description")
    }

    /// Its description.
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
                    "id": format!("c{c}"), "name": format!("check {c}"), "kind": "looked-at", "how": "Look.",
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
