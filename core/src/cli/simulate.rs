//! Jobs played side by side, with a count of them on the terminal.

use std::fs;
use std::io::IsTerminal as _;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};

use clap::Args;
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use halfsplit::machine::Machine;
use halfsplit::simulate::{
    Calibration, POLICIES, Policy, Score, SimulatedJob, Simulation, Summary, disturbed, policy,
};
use rayon::prelude::*;
use serde_json::json;

use crate::files::{Failure, described, pretty};

#[derive(Args)]
pub(super) struct Simulate {
    /// Id of a machine, or a description file (JSON).
    #[arg(long)]
    machine: String,
    /// How many jobs.
    #[arg(long, default_value_t = 1000)]
    jobs: usize,
    /// Seed of the random numbers. Equal seeds draw equal machines.
    #[arg(long, default_value = "1")]
    seed: String,
    /// Who decides.
    #[arg(long, value_parser = policies(), default_value = "advice")]
    policy: &'static dyn Policy,
    /// Draw the machines by other rates than the policy believes: each moved by up to this factor, either way.
    #[arg(long)]
    disturb: Option<f64>,
    /// How often the odds were right, too.
    #[arg(long)]
    calibration: bool,
    /// Write every job to this file, one a line (JSON): what was wrong, what was done, how it ended.
    #[arg(long)]
    keep: Option<PathBuf>,
}

impl Simulate {
    pub(super) fn run(&self, json: bool) -> Result<String, Failure> {
        let believed = described(&self.machine)?;
        let moved: Option<Machine> = match self.disturb {
            Some(by) => Some(disturbed(&believed, by, &self.seed).map_err(|e| e.to_string())?),
            None => None,
        };
        let real = moved.as_ref().unwrap_or(&believed);
        let simulation = Simulation::new(&believed, real, self.policy, &self.seed);
        let (done, shown) = (AtomicUsize::new(0), !json && std::io::stderr().is_terminal());
        let play = |number| {
            let ended = simulation.play(number);
            let done = done.fetch_add(1, Ordering::Relaxed) + 1;
            if shown {
                eprint!("\r{done} of {} jobs", self.jobs);
            }
            ended
        };
        let ended: Result<Vec<_>, _> = (0..self.jobs).into_par_iter().map(play).collect();
        if shown {
            eprintln!();
        }
        let ended = ended.map_err(|e| format!("{}: {e}", self.machine))?;
        if let Some(path) = &self.keep {
            fs::write(path, kept(&ended)).map_err(|e| format!("{}: {e}", path.display()))?;
        }
        let summary = Summary::of(self.policy.id(), &ended);
        let scores: Vec<Score> = ended.into_iter().map(|e| e.score).collect();
        let calibration = self.calibration.then(|| Calibration::of(&scores));
        Ok(if json {
            let mut answer = json!(summary);
            if let Some(table) = calibration {
                answer["calibration"] = json!(table);
            }
            pretty(&answer)?
        } else {
            lines(&summary) + &calibration.as_ref().map(reliability).unwrap_or_default()
        })
    }
}

/// Reads the id of a policy, and lists all of them with what they do.
fn policies() -> impl TypedValueParser<Value = &'static dyn Policy> {
    let values = POLICIES.iter().map(|policy| PossibleValue::new(policy.id()).help(policy.about()));
    PossibleValuesParser::new(values).try_map(|id| policy(&id))
}

/// Jobs, one a line.
fn kept(jobs: &[SimulatedJob]) -> String {
    let line = |(number, ended): (usize, &SimulatedJob)| {
        let SimulatedJob { ending, minutes, wait_hours, cost, wrong_parts, reasons, job, .. } = ended;
        let job = json!({
            "number": number, "ending": ending, "minutes": minutes, "wait_hours": wait_hours,
            "cost": cost, "wrong_parts": wrong_parts, "reasons": reasons, "job": job,
        });
        format!("{job}\n")
    };
    jobs.iter().enumerate().map(line).collect()
}

fn lines(s: &Summary) -> String {
    let mut text = format!("{}: {} jobs, {:.1} % running in the end\n", s.policy, s.jobs, s.running * 100.0);
    for (name, spread) in [
        ("minutes", s.minutes),
        ("minutes, if it runs", s.minutes_if_running),
        ("hours of waiting", s.wait_hours),
        ("cost", s.cost),
        ("wrong parts", s.wrong_parts),
    ] {
        text += &format!(
            "  {name:20} mean {:.2} +- {:.2}, median {:.1}, nine of ten within {:.1}\n",
            spread.mean, spread.error, spread.p50, spread.p90
        );
    }
    text
}

fn reliability(table: &Calibration) -> String {
    let mut text = String::from("chance given       how often   mean    was so\n");
    for bin in &table.bins {
        text += &format!(
            "{:3.0} to {:3.0} %  {:14}  {:5.1} %  {:5.1} % +- {:.1}\n",
            bin.from * 100.0,
            bin.to * 100.0,
            bin.said,
            bin.p * 100.0,
            bin.was_so * 100.0,
            bin.error * 100.0
        );
    }
    text + &format!(
        "Brier score {:.5} +- {:.5}; by shares alone {:.5}\n",
        table.brier, table.brier_error, table.brier_of_shares
    )
}
