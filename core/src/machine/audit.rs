//! Audit of a description that breaks no rule: checks that can never be made, results that nothing causes,
//! conditions that nothing distinguishes, warnings that are missing.

use serde::Serialize;

use super::Machine;
use super::ids::{CheckId, ConditionId, ContextId};
use super::model::{Needs, ObservationModel, Source};
use halfsplit_bayes::for_each_configuration;

/// Distributions of a result that differ by less than this in total look the same: one case in twenty.
const SAME: f64 = 0.05;
/// Air pressure, as a share of the pressure at sea level.
const AT_THE_SEA: f64 = 1.0;
/// A step that fits less than this share of machines is never offered.
const FITTED: f64 = 0.02;

/// A doubtful point of a description.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "problem", rename_all = "kebab-case")]
pub enum Problem {
    /// A step that can never be done on this machine.
    Unreachable {
        /// Id of the check or bypass.
        step: String,
        /// The reason.
        why: String,
    },
    /// A result that no condition makes more likely than a sound machine does.
    Uncaused {
        /// Id of the check.
        check: String,
        /// Id of the result.
        result: String,
    },
    /// Conditions for which every check and every start attempt has the same distribution of results.
    Alike {
        /// `part/condition`.
        one: String,
        /// The other.
        other: String,
    },
    /// A step that lacks a warning required by its tools or parts.
    Unwarned {
        /// Id of the step.
        step: String,
        /// Id of the warning.
        caution: String,
        /// The tool or part that requires the warning.
        because: String,
    },
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Problem::Unreachable { step, why } => write!(f, "{step} can never be done: {why}"),
            Problem::Uncaused { check, result } => {
                write!(f, "nothing makes {check} show \"{result}\" more often than a sound machine does")
            }
            Problem::Alike { one, other } => write!(f, "nothing tells {one} from {other}"),
            Problem::Unwarned { step, caution, because } => {
                write!(f, "{step} lacks the warning \"{caution}\" that {because} asks for")
            }
        }
    }
}

impl Machine {
    /// Every doubtful point, in the order of the description.
    #[must_use]
    pub fn problems(&self) -> Vec<Problem> {
        let mut problems = Vec::new();
        self.unreachable(&mut problems);
        self.uncaused(&mut problems);
        self.alike(&mut problems);
        self.unwarned(&mut problems);
        problems
    }

    fn unreachable(&self, problems: &mut Vec<Problem>) {
        let checks = self.file.checks.iter().map(|c| &c.id).zip(self.model.checks.iter().map(|c| &c.needs));
        let bypasses = self.file.bypasses.iter().map(|b| &b.id);
        let bypasses = bypasses.zip(self.model.bypasses.iter().map(|b| &b.needs));
        for (id, needs) in checks.chain(bypasses) {
            if let Some(why) = self.obstacle(needs) {
                problems.push(Problem::Unreachable { step: id.clone(), why });
            }
        }
    }

    fn obstacle(&self, needs: &Needs) -> Option<String> {
        for predicate in &needs.fits {
            if let Source::Context(b) = predicate.source {
                let states = self.file.context(b).states.iter();
                let share: f64 =
                    states.zip(&predicate.holds).filter(|(_, h)| **h).map(|(s, _)| s.share).sum();
                if share < FITTED {
                    return Some(format!("it fits {share} of these machines"));
                }
            }
        }
        let can_come = |check: CheckId, results: &[usize]| {
            let rows = self.model.checks[check].observation.rows(AT_THE_SEA);
            let some = |r: &usize| rows.iter().any(|row| row[*r] > 0.0);
            results.is_empty() || results.iter().any(some)
        };
        let never = !needs.after.is_empty() && !needs.after.iter().any(|(c, r)| can_come(*c, r));
        never.then(|| "what must be found first never is".to_owned())
    }

    fn uncaused(&self, problems: &mut Vec<Problem>) {
        for (check, model) in self.file.checks.iter().zip(&self.model.checks) {
            let rows = model.observation.rows(AT_THE_SEA);
            let sound = self.average(&model.observation, &rows, None);
            let closes = |result: &str| {
                let mut after = self.file.gates.iter().flat_map(|g| &g.after);
                after.any(|a| a.check == check.id && a.results.iter().any(|r| r == result))
            };
            for (r, result) in check.results.iter().enumerate().filter(|(_, r)| !r.normal && !closes(&r.id)) {
                if !rows.iter().any(|row| row[r] > sound[r] + 1e-9) {
                    problems.push(Problem::Uncaused { check: check.id.clone(), result: result.id.clone() });
                }
            }
        }
    }

    /// Adds the conditions that nothing distinguishes. Conditions that stand for "something not listed" are
    /// alike by design and left out.
    fn alike(&self, problems: &mut Vec<Problem>) {
        let listed: Vec<ConditionId> =
            self.condition_ids().filter(|c| !self.condition(*c).0.left_over).collect();
        let profiles: Vec<Vec<Vec<f64>>> = listed.iter().map(|c| self.profile(*c)).collect();
        let name = |c: ConditionId| {
            let (part, condition) = self.condition(c);
            format!("{}/{}", part.id, condition.id)
        };
        let differ = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| (a - b).abs()).sum::<f64>() / 2.0;
        for (i, one) in profiles.iter().enumerate() {
            for (k, other) in profiles.iter().enumerate().skip(i + 1) {
                if one.iter().zip(other).all(|(a, b)| differ(a, b) < SAME) {
                    problems.push(Problem::Alike { one: name(listed[i]), other: name(listed[k]) });
                }
            }
        }
    }

    /// Distribution of the results of every check, and of the outcomes of every start attempt, if only this
    /// condition acts.
    fn profile(&self, condition: ConditionId) -> Vec<Vec<f64>> {
        let mut all: Vec<Vec<f64>> = Vec::new();
        for check in &self.model.checks {
            all.push(self.average(&check.observation, &check.observation.rows(AT_THE_SEA), Some(condition)));
        }
        let severity = self.model.conditions[condition].severity;
        let outcome = |law: &[[f64; 4]; 4]| -> Vec<f64> {
            (0..4).map(|o| severity.iter().zip(law).map(|(s, row)| s * row[o]).sum()).collect()
        };
        all.push(outcome(&self.model.attempt_law));
        for bypass in &self.model.bypasses {
            let apart = bypass.apart.iter().find(|(list, _)| list.contains(&condition));
            all.push(match (apart, bypass.lifts.contains(&condition), &bypass.law) {
                (Some((_, law)), ..) | (None, true, Some(law)) => outcome(law),
                (None, true, None) => self.model.attempt_law[0].to_vec(),
                (None, false, _) => outcome(&self.model.attempt_law),
            });
        }
        all
    }

    /// Distribution of the results on a machine with at most one condition, which acts. Contexts are averaged
    /// by their shares.
    fn average(
        &self,
        observation: &ObservationModel,
        rows: &[Vec<f64>],
        alone: Option<ConditionId>,
    ) -> Vec<f64> {
        let wrong = alone.map(|c| {
            let part = self.part_of(c);
            let states = &self.model.parts[part].states;
            let acting = states.iter().position(|s| s.condition() == Some(c) && s.acts());
            let any = || states.iter().position(|s| s.condition() == Some(c));
            (part, acting.or_else(any).unwrap_or(0))
        });
        let point = |length: usize, at: usize| (0..length).map(|i| f64::from(u8::from(i == at))).collect();
        let shares = |b: ContextId| self.file.context(b).states.iter().map(|s| s.share).collect();
        let laws: Vec<Vec<f64>> = observation
            .parents
            .iter()
            .map(|source| match source {
                Source::Context(b) => shares(*b),
                Source::Part(p) => {
                    let at = wrong.filter(|(part, _)| part == p).map_or(0, |(_, state)| state);
                    point(self.model.parts[*p].states.len(), at)
                }
                Source::Function(f) => {
                    let function = &self.model.functions[*f];
                    let spoiler = wrong.and_then(|(part, state)| {
                        function
                            .spoilers
                            .iter()
                            .find(|(p, _)| *p == part)
                            .map(|(_, rows)| rows[state].clone())
                    });
                    spoiler.unwrap_or_else(|| point(function.level_names.len(), 0))
                }
            })
            .collect();
        let cards: Vec<usize> = laws.iter().map(Vec::len).collect();
        let mut sum = vec![0.0; rows.first().map_or(0, Vec::len)];
        let mut at = 0;
        for_each_configuration(&cards, |row| {
            let p: f64 = laws.iter().zip(row).map(|(law, s)| law[*s]).product();
            sum.iter_mut().zip(&rows[at]).for_each(|(s, r)| *s += p * r);
            at += 1;
        });
        sum
    }

    fn unwarned(&self, problems: &mut Vec<Problem>) {
        let file = &self.file;
        let mut look = |step: &str, given: &[String], tools: &[String], setups: &[String], parts: &[&str]| {
            let by_setup = file.setups.iter().filter(|s| setups.contains(&s.id)).flat_map(|s| &s.cautions);
            let given: Vec<&String> = given.iter().chain(by_setup).collect();
            let by_tools = file.tools.iter().filter(|t| tools.contains(&t.id));
            let by_tools = by_tools.flat_map(|t| t.cautions.iter().map(move |c| (c, &t.name)));
            let by_parts = file.parts.iter().filter(|p| parts.contains(&p.id.as_str()));
            let by_parts = by_parts.flat_map(|p| p.cautions.iter().map(move |c| (c, &p.name)));
            let mut missing: Vec<(&String, &String)> =
                by_tools.chain(by_parts).filter(|(c, _)| !given.contains(c)).collect();
            missing.sort_unstable();
            missing.dedup_by(|a, b| a.0 == b.0);
            for (caution, because) in missing {
                problems.push(Problem::Unwarned {
                    step: step.to_owned(),
                    caution: caution.clone(),
                    because: because.clone(),
                });
            }
        };
        for c in &file.checks {
            look(&c.id, &c.cautions, &c.tools, &c.setups, &[]);
        }
        for b in &file.bypasses {
            look(&b.id, &b.cautions, &b.tools, &b.setups, &[]);
        }
        for r in &file.repairs {
            let parts: Vec<&str> = r.cures.iter().filter_map(|c| c.split('/').next()).collect();
            look(&r.id, &r.cautions, &r.tools, &r.setups, &parts);
        }
    }
}
