//! Jobs played side by side, with a count of them on the terminal.

use std::fs;
use std::io::IsTerminal as _;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};

use clap::Args;
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use halfsplit::machine::Machine;
use halfsplit::simulate::{
    Calibration, ForecastSummary, MeanDifference, POLICIES, PairedDifference, PairedOutcome, Policy, Score,
    SimulatedJob, Simulation, Summary, disturbed, policy,
};
use rayon::prelude::*;
use serde::Deserialize;
use serde_json::{Value, json};

use crate::files::{Failure, described, pretty};

/// Plays jobs on drawn machines that do not start.
///
/// A job costs what it takes until the engine runs and every fault that was found is put right. When the engine runs, the
/// cheapest repair of each fault that a finding has shown, that is really there and not repaired yet is added. A wrong
/// part is a part bought for a fault that is not there.
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
    /// Who decides. Several policies, separated by commas, play on the same machines; each is compared with the first in
    /// pairs.
    #[arg(long, value_parser = policies(), value_delimiter = ',', default_value = "advice")]
    policy: Vec<&'static dyn Policy>,
    /// Draw the machines by other rates than the policy believes: each moved by up to this factor, either way.
    #[arg(long)]
    disturb: Option<f64>,
    /// How often the odds were right, too, and how far the predicted course was: at the first, fifth and ninth answer.
    #[arg(long)]
    calibration: bool,
    /// Write every job of the first policy to this file, one a line (JSON): what was wrong, what was done, how it ended.
    #[arg(long)]
    keep: Option<PathBuf>,
    /// Compare every policy in pairs with the jobs in this file, which another version wrote with --keep on the same
    /// machine and seed.
    #[arg(long)]
    against: Option<PathBuf>,
}

impl Simulate {
    pub(super) fn run(&self, json: bool) -> Result<String, Failure> {
        let believed = described(&self.machine)?;
        let moved: Option<Machine> = match self.disturb {
            Some(by) => Some(disturbed(&believed, by, &self.seed).map_err(|e| e.to_string())?),
            None => None,
        };
        let real = moved.as_ref().unwrap_or(&believed);
        let mut first: Option<(String, Vec<PairedOutcome>)> = match &self.against {
            Some(path) => Some((path.display().to_string(), outcomes_in(path)?)),
            None => None,
        };
        let (mut answers, mut texts) = (Vec::new(), Vec::new());
        for (at, policy) in self.policy.iter().copied().enumerate() {
            let ended = self.play(&Simulation::new(&believed, real, policy, &self.seed), !json)?;
            if let (0, Some(path)) = (at, &self.keep) {
                fs::write(path, kept(&ended)).map_err(|e| format!("{}: {e}", path.display()))?;
            }
            let outcomes: Vec<PairedOutcome> = ended.iter().map(PairedOutcome::from).collect();
            let difference =
                first.as_ref().map(|(name, others)| (name.as_str(), PairedDifference::of(&outcomes, others)));
            let played = Played::of(policy, &ended, self.calibration, difference);
            texts.push(played.text());
            answers.push(played.answer());
            first.get_or_insert((policy.id().to_owned(), outcomes));
        }
        if !json {
            return Ok(texts.join("\n"));
        }
        // One policy is stated by itself.
        pretty(&if answers.len() == 1 { answers.remove(0) } else { json!({ "policies": answers }) })
    }

    /// Plays the jobs of a policy, with a count of them on the terminal.
    fn play(&self, simulation: &Simulation, shown: bool) -> Result<Vec<SimulatedJob>, Failure> {
        let (done, shown) = (AtomicUsize::new(0), shown && std::io::stderr().is_terminal());
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
        ended.map_err(|e| format!("{}: {e}", self.machine))
    }
}

/// The jobs of a policy in figures.
struct Played<'a> {
    summary: Summary,
    calibration: Option<(Calibration, Vec<ForecastSummary>)>,
    /// The difference to other jobs on the same machines, and their name.
    difference: Option<(&'a str, PairedDifference)>,
}

impl<'a> Played<'a> {
    fn of(
        policy: &dyn Policy,
        jobs: &[SimulatedJob],
        calibrated: bool,
        difference: Option<(&'a str, PairedDifference)>,
    ) -> Self {
        let scores: Vec<Score> = jobs.iter().map(|job| job.score.clone()).collect();
        let calibration = calibrated.then(|| (Calibration::of(&scores), ForecastSummary::of(jobs)));
        Played { summary: Summary::of(policy.id(), jobs), calibration, difference }
    }

    fn answer(&self) -> Value {
        let mut answer = json!(self.summary);
        if let Some((table, forecasts)) = &self.calibration {
            answer["calibration"] = json!(table);
            answer["forecasts"] = json!(forecasts);
        }
        if let Some((name, difference)) = &self.difference {
            answer["difference"] = json!(difference);
            answer["difference"]["against"] = json!(name);
        }
        answer
    }

    fn text(&self) -> String {
        let mut text = lines(&self.summary);
        if let Some((name, difference)) = &self.difference {
            text += &difference_lines(name, difference);
        }
        if let Some((table, forecasts)) = &self.calibration {
            text += &reliability(table);
            text += &forecast_lines(forecasts);
        }
        text
    }
}

/// A line of a file that --keep wrote, as far as pairs need it.
#[derive(Deserialize)]
struct KeptJob {
    ending: String,
    cost: f64,
    minutes: f64,
    wrong_parts: f64,
}

/// The outcomes of the jobs in a file that --keep wrote, in order.
fn outcomes_in(path: &PathBuf) -> Result<Vec<PairedOutcome>, Failure> {
    let text = fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
    let outcome = |(at, line): (usize, &str)| {
        let KeptJob { ending, cost, minutes, wrong_parts } =
            serde_json::from_str(line).map_err(|e| format!("{}: line {}: {e}", path.display(), at + 1))?;
        Ok(PairedOutcome { cost, minutes, wrong_parts, runs: ending == "running" })
    };
    text.lines().enumerate().map(outcome).collect()
}

/// Reads the id of a policy, and lists all of them with what they do.
fn policies() -> impl TypedValueParser<Value = &'static dyn Policy> {
    let values = POLICIES.iter().map(|policy| PossibleValue::new(policy.id()).help(policy.about()));
    PossibleValuesParser::new(values).try_map(|id| policy(&id))
}

/// Jobs, one a line.
fn kept(jobs: &[SimulatedJob]) -> String {
    let line = |(number, ended): (usize, &SimulatedJob)| {
        let SimulatedJob {
            ending, minutes, wait_hours, cost, put_right_cost, wrong_parts, reasons, job, ..
        } = ended;
        let job = json!({
            "number": number, "ending": ending, "minutes": minutes, "wait_hours": wait_hours,
            "cost": cost, "put_right_cost": put_right_cost, "wrong_parts": wrong_parts, "reasons": reasons, "job": job,
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
        ("of it put right", s.put_right_cost),
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

/// The differences to other jobs on the same machines.
fn difference_lines(name: &str, difference: &PairedDifference) -> String {
    let mut text = format!("  in {} pairs, less {name}:\n", difference.jobs);
    let percent = |d: MeanDifference| MeanDifference { mean: d.mean * 100.0, error: d.error * 100.0 };
    for (what, MeanDifference { mean, error }) in [
        ("cost", difference.cost),
        ("minutes", difference.minutes),
        ("wrong parts", difference.wrong_parts),
        ("running, points", percent(difference.running)),
    ] {
        text += &format!("    {what:18} {mean:+.2} +- {error:.2}\n");
    }
    text
}

/// Predicted and observed rests of the jobs.
fn forecast_lines(forecasts: &[ForecastSummary]) -> String {
    let mut text = String::new();
    for ForecastSummary { decision, jobs, cost, minutes, runs } in forecasts {
        text += &format!("at answer {decision}, {jobs} jobs:\n");
        for (what, scale, f) in [("cost", 1.0, cost), ("minutes", 1.0, minutes), ("running, %", 100.0, runs)]
        {
            text += &format!(
                "  {what:20} predicted {:.1}, observed {:.1}, difference {:+.1} +- {:.1}\n",
                f.predicted * scale,
                f.observed * scale,
                f.difference * scale,
                f.error * scale
            );
        }
    }
    text
}
