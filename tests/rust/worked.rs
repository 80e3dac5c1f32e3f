//! Worked jobs of our own on all machines: is the true cause ranked first?
//!
//! The findings of a job are those that a mechanic would plausibly make with that cause (common practice, no
//! source). All jobs were written before the engine computed any answer to them.

use halfsplit::advise::{Assessment, CauseOdds};
use halfsplit::job::{Job, JobFile};
use halfsplit::machine::Machine;
use serde_json::Value;

/// Jobs whose true cause is not ranked first at the end, each with an explanation.
const NOT_FIRST: &[(&str, &str)] = &[(
    "The lamp glows, the plug is cracked",
    "a start on a known-good plug in a dried cylinder speaks for a fouled plug and a flood as much, and both \
     are commoner; only a look at the old plug would tell",
)];
/// Jobs whose true cause is not among the first three half-way, each with an explanation.
const NOT_HALF_WAY: &[(&str, &str)] = &[
    (
        "The dirty filter that was not it",
        "by then only the filter has been looked at; nothing asked for the lead",
    ),
    ("Wet plug without a spark", "a wet plug speaks for flooding as well, and the spark is tested later"),
    (
        "The lamp glows, the plug is cracked",
        "a lamp and a tester that both flash clear the coil, not the plug",
    ),
    ("The owner says it has spark", "hearsay against the truth, until somebody tests"),
    ("A dead coil blamed on old fuel", "old fuel is there, and the spark is tested later"),
];

struct Worked {
    title: String,
    reason: String,
    merely_there: Vec<String>,
    misleading: bool,
    job: JobFile,
}

fn worked() -> Vec<Worked> {
    let machines = Machine::all_shipped().expect("the shipped machines");
    let mut all = Vec::new();
    for machine in &machines {
        let path = format!("../core/examples/jobs/worked/{}.json", machine.id());
        let list: Value = serde_json::from_str(&halfsplit_tests::text(&path)).expect("JSON");
        for entry in list.as_array().expect("a list") {
            let text = |key: &str| entry[key].as_str().expect(key).to_owned();
            let there = entry["merely_there"].as_array().expect("a list");
            all.push(Worked {
                title: text("title"),
                reason: text("reason"),
                merely_there: there.iter().map(|c| c.as_str().expect("a condition").to_owned()).collect(),
                misleading: entry["misleading"].is_string(),
                job: JobFile::from_json(&entry["job"].to_string()).expect("a job"),
            });
        }
    }
    all
}

fn answer(machine: &Machine, file: &JobFile) -> Assessment {
    Job::new(machine, file).and_then(|j| j.assess()).expect("an answer")
}

fn id(c: &CauseOdds) -> String {
    format!("{}/{}", c.part, c.condition)
}

/// Conditions, sorted by the probability that they stopped the engine when the job began, most likely first.
fn reasons(answer: &Assessment) -> Vec<String> {
    let mut all: Vec<&CauseOdds> = answer.causes.iter().collect();
    all.sort_by(|a, b| b.p_was_cause.total_cmp(&a.p_was_cause));
    all.into_iter().map(id).collect()
}

#[test]
fn the_reason_comes_out_on_top() {
    let machines = Machine::all_shipped().expect("the shipped machines");
    let (mut not_first, mut not_half_way) = (Vec::new(), Vec::new());
    let jobs = worked();
    for w in &jobs {
        let machine = machines.iter().find(|m| m.id() == w.job.machine).expect("a machine");
        let end = answer(machine, &w.job);
        let last = reasons(&end);
        let mut half = w.job.clone();
        half.steps.truncate(w.job.steps.len().div_ceil(2));
        let middle = reasons(&answer(machine, &half));
        if last[0] != w.reason {
            println!("{}: at the end {:?}", w.title, &last[..3]);
            not_first.push(w.title.as_str());
        }
        if !middle[..3].contains(&w.reason) {
            println!("{}: half-way {:?}", w.title, &middle[..4]);
            not_half_way.push(w.title.as_str());
        }
        for there in &w.merely_there {
            let chance = |id: &str| {
                let (part, condition) = id.split_once('/').expect("part/condition");
                end.causes.iter().find(|c| c.part == part && c.condition == condition).expect(id).p_was_cause
            };
            if chance(there) >= chance(&w.reason) {
                println!("{}: {there} is thought likelier", w.title);
                not_first.push(w.title.as_str());
            }
        }
    }
    not_first.dedup();
    for (title, why) in NOT_FIRST {
        println!("not first at the end: {title}: {why}");
    }
    for (title, why) in NOT_HALF_WAY {
        println!("not among the first three half-way: {title}: {why}");
    }
    let listed = |list: &'static [(&str, &str)]| list.iter().map(|(title, _)| *title).collect::<Vec<_>>();
    assert_eq!(not_first, listed(NOT_FIRST));
    assert_eq!(not_half_way, listed(NOT_HALF_WAY));
    // The true cause is first at the end in at least 28 of 30 jobs, and among the first three half-way in at
    // least 25 of 30. The same shares apply to any number of jobs.
    let enough = |failed: usize, of_30: usize| (jobs.len() - failed) * 30 >= of_30 * jobs.len();
    assert!(enough(not_first.len(), 28) && enough(not_half_way.len(), 25));
    assert!(jobs.len() >= 30 && jobs.iter().filter(|w| w.misleading).count() >= 10);
}
