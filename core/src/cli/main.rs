//! The command line. It reads files and prints answers; everything else is in the library.

mod files;
mod schema;
mod simulate;
mod text;
mod why;
mod words;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use halfsplit::advise::Assessment;
use halfsplit::explain;
use halfsplit::job::{Job, JobFile};
use halfsplit::machine::Machine;
use halfsplit_bayes::{Evidence, EvidenceFile, JunctionTree, Network, VarId};
use serde_json::{Map, Value, json};

use files::{Failure, described, named, pretty, read};

/// Fault probabilities for small engines that will not start.
#[derive(Parser)]
#[command(name = "halfsplit", version)]
struct Cli {
    /// Print a stable machine-readable answer.
    #[arg(long, global = true)]
    json: bool,
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// What to do next on a job, and how the odds stand.
    Next {
        /// Job file (JSON), or "demo" for the job that comes with the program.
        #[arg(long)]
        job: PathBuf,
        /// Take the whole story as told, as on the phone or in a forum: it is trusted less and has cost nothing.
        #[arg(long)]
        told: bool,
        /// List every step that can be done now, also those that are not worth doing now.
        #[arg(long)]
        all: bool,
    },
    /// Why the odds and the advice are as they are: the weight of every finding, conflicts between findings, steps
    /// that may put another cause in the lead, and the numbers that the answer depends on.
    Why {
        /// Job file (JSON), or "demo".
        #[arg(long)]
        job: PathBuf,
    },
    /// The machines that come with the program.
    Machines,
    /// The parts, checks, bypasses and repairs of a machine, with their ids.
    Inspect {
        /// Id of a machine, or a description file (JSON): a whole machine, or a family, with its
        /// blocks in the folder `blocks` beside it.
        machine: String,
        /// List doubtful places: checks that can never be made, results without a cause, conditions that no
        /// check tells apart, missing warnings.
        #[arg(long)]
        problems: bool,
        /// Show the size of its network: variables and table entries before the first step and after failed
        /// start attempts, with every check still to be made.
        #[arg(long, conflicts_with = "problems")]
        size: bool,
    },
    /// The JSON Schema of a form, for editors.
    Schema {
        /// Which form.
        form: schema::Form,
    },
    /// Posterior probabilities on any discrete Bayesian network.
    Posteriors {
        /// Network file (JSON).
        #[arg(long)]
        network: PathBuf,
        /// Evidence file (JSON).
        #[arg(long)]
        evidence: PathBuf,
    },
    /// The marginals of all root variables after every possible further finding: each unobserved leaf variable in
    /// each of its states.
    Sweep {
        /// Network file (JSON).
        #[arg(long)]
        network: PathBuf,
        /// Evidence file (JSON).
        #[arg(long)]
        evidence: PathBuf,
    },
    /// Play jobs on machines with hidden faults to their end, and count what a policy costs.
    Simulate(simulate::Simulate),
    /// The text of a link that reopens a job on the page.
    Link {
        /// Job file (JSON), or "demo".
        #[arg(long)]
        job: PathBuf,
    },
}

fn main() -> ExitCode {
    let cli = Cli::parse();
    match run(&cli) {
        Ok(text) => {
            // A reader that went away (`| head`) is no failure.
            let _ = std::io::Write::write_all(&mut std::io::stdout(), text.as_bytes());
            ExitCode::SUCCESS
        }
        Err(message) => {
            if cli.json {
                println!("{}", json!({ "error": message }));
            }
            eprintln!("halfsplit: {message}");
            ExitCode::from(2)
        }
    }
}

fn run(cli: &Cli) -> Result<String, Failure> {
    match &cli.command {
        Command::Next { job, told, all } => next(job, *told, *all, cli.json),
        Command::Why { job } => why(job, cli.json),
        Command::Machines => machines(cli.json),
        Command::Inspect { machine, problems: true, .. } => problems(machine, cli.json),
        Command::Inspect { machine, size: true, .. } => size(machine, cli.json),
        Command::Inspect { machine, .. } => inspect(machine, cli.json),
        Command::Schema { form } => pretty(&form.schema()),
        Command::Posteriors { network, evidence } => posteriors(network, evidence, cli.json),
        Command::Sweep { network, evidence } => sweep(network, evidence, cli.json),
        Command::Simulate(simulate) => simulate.run(cli.json),
        Command::Link { job } => {
            let file = read_job(job)?;
            let machine = Machine::shipped(&file.machine).map_err(|e| named(job, e))?;
            let mark = halfsplit::link::fingerprint_of(&machine).map_err(|e| named(job, e))?;
            let text = halfsplit::link::encode(&file, &mark, None).map_err(|e| named(job, e))?;
            Ok(if cli.json { pretty(&json!({ "link": text }))? } else { format!("{text}\n") })
        }
    }
}

fn next(path: &Path, told: bool, all: bool, json: bool) -> Result<String, Failure> {
    let mut file = read_job(path)?;
    file.told |= told;
    let machine = Machine::shipped(&file.machine).map_err(|e| named(path, e))?;
    let job = Job::new(&machine, &file).map_err(|e| named(path, e))?;
    let assessment: Assessment = job.assess().map_err(|e| named(path, e))?;
    Ok(if json { pretty(&assessment)? } else { text::assessment(&machine, &assessment, all) })
}

fn why(path: &Path, json: bool) -> Result<String, Failure> {
    let file = read_job(path)?;
    let machine = Machine::shipped(&file.machine).map_err(|e| named(path, e))?;
    let job = Job::new(&machine, &file).map_err(|e| named(path, e))?;
    let reasons = explain::reasons(&job).map_err(|e| named(path, e))?;
    let sensitivity = explain::sensitivity(&job).map_err(|e| named(path, e))?;
    if json {
        return pretty(&json!({ "reasons": reasons, "sensitivity": sensitivity }));
    }
    Ok(why::text(&reasons, &sensitivity))
}

fn machines(json: bool) -> Result<String, Failure> {
    let machines = Machine::all_shipped().map_err(|e| e.to_string())?;
    let list: Vec<_> = machines.iter().map(Machine::summary).collect();
    if json {
        return pretty(&json!({ "machines": list }));
    }
    Ok(list.iter().map(|m| format!("{}  {}\n    {}\n", m.id, m.name, m.about)).collect())
}

fn inspect(which: &str, json: bool) -> Result<String, Failure> {
    let machine = described(which)?;
    Ok(if json { pretty(machine.file())? } else { text::machine(&machine) })
}

fn problems(which: &str, json: bool) -> Result<String, Failure> {
    let problems = described(which)?.problems();
    if json {
        return pretty(&json!({ "problems": problems }));
    }
    if problems.is_empty() {
        return Ok("Nothing doubtful found.\n".to_owned());
    }
    Ok(problems.iter().map(|p| format!("{p}\n")).collect())
}

fn size(which: &str, json: bool) -> Result<String, Failure> {
    let machine = described(which)?;
    let mut sizes = Vec::new();
    for starts in [0, 1, 4] {
        let steps = vec![json!({"do": "attempt", "outcome": "nothing"}); starts];
        let file = json!({"machine": machine.id(), "steps": steps}).to_string();
        let job = JobFile::from_json(&file).and_then(|file| Job::new(&machine, &file)?.network());
        let (network, evidence) = job.map_err(|e| format!("{which}: {e}"))?;
        let tree =
            JunctionTree::compile_with_evidence(&network, &evidence).map_err(|e| format!("{which}: {e}"))?;
        sizes.push((starts, network.iter().count(), tree.entries()));
    }
    if json {
        let row = |(starts, variables, entries): &(usize, usize, usize)| json!({"failed_starts": starts, "variables": variables, "entries": entries});
        return pretty(&json!({ "sizes": sizes.iter().map(row).collect::<Vec<_>>() }));
    }
    let line = |(starts, variables, entries): &(usize, usize, usize)| {
        format!("after {starts} failed starts: {variables} variables, {entries} table entries\n")
    };
    Ok(sizes.iter().map(line).collect())
}

fn posteriors(network_path: &Path, evidence_path: &Path, json: bool) -> Result<String, Failure> {
    let (network, evidence) = question(network_path, evidence_path)?;
    let tree = JunctionTree::compile(&network).map_err(|e| named(network_path, e))?;
    let posterior = tree.posterior(&evidence).map_err(|e| named(evidence_path, e))?;
    if !json {
        return Ok(text::posterior(&network, &posterior));
    }
    let marginals = network.iter().map(|(id, _)| (id, posterior.marginal(id)));
    pretty(&json!({
        "p_evidence": posterior.log_p_evidence().exp(),
        "log_p_evidence": posterior.log_p_evidence(),
        "posteriors": by_name(&network, marginals),
    }))
}

fn sweep(network_path: &Path, evidence_path: &Path, json: bool) -> Result<String, Failure> {
    let (network, evidence) = question(network_path, evidence_path)?;
    let outlooks = halfsplit_bayes::predictions(&network, &evidence).map_err(|e| named(evidence_path, e))?;
    if !json {
        return Ok(text::sweep(&network, &outlooks));
    }
    let mut leaves: Map<String, Value> = Map::new();
    for outlook in &outlooks {
        let leaf = network.variable(outlook.leaf);
        let roots = outlook.roots.iter().map(|(id, marginal)| (*id, marginal.as_slice()));
        let told = json!({ "p": outlook.p, "posteriors": by_name(&network, roots) });
        let states = leaves.entry(leaf.name()).or_insert_with(|| json!({}));
        states[&leaf.states()[outlook.state.index()]] = told;
    }
    pretty(&json!({ "sweep": leaves }))
}

/// `{"variable":{"state":p}}`.
fn by_name<'a>(network: &Network, marginals: impl Iterator<Item = (VarId, &'a [f64])>) -> Map<String, Value> {
    marginals
        .map(|(id, marginal)| {
            let variable = network.variable(id);
            let states: Map<String, Value> =
                variable.states().iter().cloned().zip(marginal.iter().map(|p| json!(p))).collect();
            (variable.name().to_owned(), Value::Object(states))
        })
        .collect()
}

/// A network and evidence on it.
fn question(network_path: &Path, evidence_path: &Path) -> Result<(Network, Evidence), Failure> {
    let network = Network::from_json(&read(network_path)?).map_err(|e| named(network_path, e))?;
    let evidence = EvidenceFile::from_json(&read(evidence_path)?)
        .map_err(|e| named(evidence_path, e))?
        .on(&network)
        .map_err(|e| named(evidence_path, e))?;
    Ok((network, evidence))
}

fn read_job(path: &Path) -> Result<JobFile, Failure> {
    if path.as_os_str() == "demo" {
        return JobFile::demo().map_err(|e| named(path, e));
    }
    JobFile::from_json(&read(path)?).map_err(|e| named(path, e))
}
