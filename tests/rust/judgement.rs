//! Plays the states of `judgement.txt` through the advice and holds it to what a careful mechanic does next.

use std::collections::BTreeMap;

use halfsplit::advise::{Assessment, NotNow, Obstacle, StepAdvice};
use halfsplit::job::{JobFile, KnownAct, Outcome, Provenance, ReadingRecord, StepRecord};
use halfsplit::machine::Machine;
use halfsplit::machine::file::{CheckKind, Involvement, MachineFile};
use halfsplit_tests::{assess_on, job, text};

/// How many steps count as "soon".
const SOON: usize = 5;
/// A question or a look of at most this many minutes costs only a glance.
const GLANCE_MINUTES: f64 = 2.0;
/// The words that stand for every step that turns the engine.
const TURNS: &str = "all that turns it";

/// The words of demands.
const DEMANDS: &[&str] = &[
    "first", "soon", "waits", "later", "late", "never", "likely", "leads", "reason", "asks", "says", "gone",
    "why",
];

/// A row of the table: what was recorded, and demands by their word.
struct Row {
    line: usize,
    machines: Vec<String>,
    recorded: Option<String>,
    demands: Vec<(String, String)>,
    open: BTreeMap<String, String>,
}

/// The rows of the table.
fn rows() -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    let mut begins = true;
    let table = text("rust/judgement.txt");
    let lines = table.lines().enumerate().skip_while(|(_, l)| !l.starts_with('#'));
    for (at, line) in lines.filter(|(_, l)| !l.starts_with('#')) {
        let Some((word, value)) = line.split_once(':') else {
            assert!(line.trim().is_empty(), "line {}: a word, a colon and a value: {line}", at + 1);
            begins = true;
            continue;
        };
        if std::mem::take(&mut begins) {
            let row = Row {
                line: at + 1,
                machines: vec![],
                recorded: None,
                demands: vec![],
                open: BTreeMap::new(),
            };
            rows.push(row);
        }
        let (row, value) = (rows.last_mut().expect("a row"), value.trim().to_owned());
        match word {
            "machines" => row.machines = value.split_whitespace().map(str::to_owned).collect(),
            "recorded" => row.recorded = Some(value),
            "open" => {
                let (machine, reason) = value.split_once(':').expect("a machine and a reason");
                row.open.insert(machine.trim().to_owned(), reason.trim().to_owned());
            }
            _ => {
                assert!(DEMANDS.contains(&word), "line {}: no demand is called {word}", at + 1);
                row.demands.push((word.to_owned(), value));
            }
        }
    }
    for row in &rows {
        let has_why = row.demands.iter().any(|(word, _)| word == "why");
        assert!(!row.machines.is_empty() && has_why && row.demands.len() > 1, "line {}", row.line);
        assert!(row.open.keys().all(|m| row.machines.contains(m)), "line {}: an open machine", row.line);
    }
    rows
}

/// The ids of a list.
fn ids(list: &str) -> Vec<&str> {
    list.split(',').map(str::trim).collect()
}

/// The job of a row.
fn recorded(machine: &Machine, notes: &str) -> JobFile {
    let mut file = JobFile { machine: machine.id().to_owned(), ..job(&[]) };
    for note in notes.split(';').map(str::trim).filter(|n| !n.is_empty()) {
        if let Some((context, state)) = note.split_once('=') {
            file.settings.insert(context.trim().to_owned(), state.trim().to_owned());
        } else {
            file.steps.push(step(machine.file(), note).expect(note));
        }
    }
    file
}

/// A step by its note; none if the note means nothing.
fn step(file: &MachineFile, note: &str) -> Option<StepRecord> {
    let (known, note) = match note.strip_prefix("told ") {
        Some(note) => (Some(Provenance::Told), note),
        None => (None, note),
    };
    let act = known.map(|_| KnownAct::Told);
    let check = |id: &str| file.checks.iter().any(|c| c.id == id);
    let outcome = |word: &str| -> Outcome { serde_json::from_value(word.into()).expect("an outcome") };
    Some(match note.split_whitespace().collect::<Vec<_>>()[..] {
        [id, result] if check(id) => {
            StepRecord::Check { check: id.into(), result: Some(result.into()), reading: None, known }
        }
        [id, value, unit] if check(id) => {
            let unit = serde_json::from_value(unit.into()).expect("a unit");
            let value = Some(value.parse().expect("a number"));
            let reading = ReadingRecord { value, over: None, between: None, unit, temperature: None };
            StepRecord::Check { check: id.into(), result: None, reading: Some(reading), known }
        }
        ["attempt", word] => StepRecord::Attempt { bypass: vec![], outcome: outcome(word), known: act },
        [id, word] if file.bypasses.iter().any(|b| b.id == id) => {
            StepRecord::Attempt { bypass: vec![id.into()], outcome: outcome(word), known: act }
        }
        [id] => StepRecord::Repair { repair: id.into(), known: act },
        _ => return None,
    })
}

/// What a step needs and warns of, and its texts; none if the machine has no such step.
fn wants<'f>(file: &'f MachineFile, id: &str) -> Option<(Vec<&'f str>, String)> {
    let of = |lists: [&'f Vec<String>; 3], texts: [&str; 3]| {
        (lists.into_iter().flatten().map(String::as_str).collect(), texts.join(" ").to_lowercase())
    };
    let checks = file.checks.iter().filter(|c| c.id == id);
    let bypasses = file.bypasses.iter().filter(|b| b.id == id);
    let repairs = file.repairs.iter().filter(|r| r.id == id);
    checks
        .map(|c| of([&c.setups, &c.tools, &c.cautions], [&c.name, &c.how, &c.note]))
        .chain(bypasses.map(|b| of([&b.setups, &b.tools, &b.cautions], [&b.name, &b.how, &b.note])))
        .chain(repairs.map(|r| of([&r.setups, &r.tools, &r.cautions], [&r.name, &r.how, &r.leaves])))
        .next()
}

/// Every step that turns the engine.
fn turns(file: &MachineFile) -> Vec<&str> {
    let checks =
        file.checks.iter().filter(|c| c.involves.contains(&Involvement::Turning)).map(|c| c.id.as_str());
    let repairs =
        file.repairs.iter().filter(|r| r.involves.contains(&Involvement::Turning)).map(|r| r.id.as_str());
    checks.chain(repairs).chain(["attempt"]).chain(file.bypasses.iter().map(|b| b.id.as_str())).collect()
}

/// The state of one row on one machine.
struct Played<'a> {
    machine: &'a Machine,
    answer: Option<Assessment>,
    /// Steps that the row wants first.
    first: Vec<&'a str>,
}

impl Played<'_> {
    fn answer(&self) -> &Assessment {
        self.answer.as_ref().expect("a row with recorded steps")
    }

    fn place(&self, id: &str) -> Option<usize> {
        self.answer().ranking.iter().position(|s| s.id == id)
    }

    /// Whether a step is among the first ones. What costs only a glance is not counted.
    fn is_soon(&self, id: &str) -> bool {
        let Some(at) = self.place(id) else { return false };
        let file = self.machine.file();
        let glance = |s: &&StepAdvice| {
            let check = file.checks.iter().find(|c| c.id == s.id);
            check.is_some_and(|c| {
                let by_eye = matches!(c.kind, CheckKind::Asked | CheckKind::LookedAt | CheckKind::Smelt);
                by_eye && c.minutes <= GLANCE_MINUTES && c.setups.is_empty() && c.involves.is_empty()
            })
        };
        self.answer().ranking[..at].iter().filter(|s| !glance(s)).count() < SOON
    }

    /// What a demand misses; none if it is met.
    fn misses(&self, word: &str, value: &str) -> Option<String> {
        let early = |id: &str| self.place(id).is_some_and(|at| at < SOON);
        let file = self.machine.file();
        let among = |ids: Vec<&str>, got: String| (!ids.contains(&got.as_str())).then_some(got);
        match word {
            "first" => {
                among(ids(value), self.answer().ranking.first().map_or_else(String::new, |s| s.id.clone()))
            }
            "soon" => {
                (!ids(value).iter().any(|id| self.is_soon(id))).then(|| "not among the first five".to_owned())
            }
            "waits" => listed(self.held_back(value).into_iter().filter(|id| self.place(id).is_some())),
            "later" => {
                let first = self.first.iter().filter_map(|id| self.place(id)).min().unwrap_or(0);
                listed(ids(value).into_iter().filter(|id| self.place(id).is_some_and(|at| at <= first)))
            }
            "late" => listed(ids(value).into_iter().filter(|id| early(id))),
            "never" => listed(ids(value).into_iter().filter(|id| self.place(id).is_some())),
            "likely" => {
                let (cause, percent) = value.split_once(' ').expect("a cause and per cent");
                let p = 100.0 * self.chance(cause)?;
                (p < percent.parse().expect("a number")).then(|| format!("{p:.2} %"))
            }
            "leads" | "reason" => among(ids(value), halfsplit_tests::leader(self.answer())),
            "asks" => {
                let (id, needed) = value.split_once(':').expect("a step and what it asks for");
                let Some((has, _)) = wants(file, id) else { return Some(format!("no {id}")) };
                listed(ids(needed).into_iter().filter(|n| !has.contains(n)))
            }
            "says" => {
                let (id, words) = value.split_once(':').expect("a step and words");
                let Some((_, said)) = wants(file, id) else { return Some(format!("no {id}")) };
                (!said.contains(words.trim())).then_some(said)
            }
            "gone" => listed(ids(value).into_iter().filter(|id| wants(file, id).is_some())),
            _ => None,
        }
    }

    /// The steps that must not be offered. What opens the way is not among all that turns it.
    fn held_back<'v>(&'v self, list: &'v str) -> Vec<&'v str> {
        let opens = |id: &&str| {
            self.answer().not_now.iter().any(|n| match &n.obstacle {
                Obstacle::Waits { until, .. } => until.iter().any(|step| step.id == *id),
                _ => false,
            })
        };
        let all = || turns(self.machine.file()).into_iter().filter(|id| !opens(id)).collect();
        ids(list).into_iter().flat_map(|id| if id == TURNS { all() } else { vec![id] }).collect()
    }

    /// The chance of a cause; 0 if the machine does not have it.
    fn chance(&self, id: &str) -> Option<f64> {
        let cause = self.answer().causes.iter().find(|c| format!("{}/{}", c.part, c.condition) == id);
        Some(cause.map_or(0.0, |c| c.p_cause))
    }

    /// The first steps with their expected costs, and what waits.
    fn got(&self) -> String {
        let Some(answer) = &self.answer else { return String::new() };
        let step = |s: &StepAdvice| format!("{} {:.1}", s.id, s.expected_cost);
        let first: Vec<_> = answer.ranking.iter().take(2 * SOON).map(step).collect();
        let waits = |n: &NotNow| match &n.obstacle {
            Obstacle::Waits { why, .. } | Obstacle::HeldOff { why } => Some(why.clone()),
            _ => None,
        };
        let mut reasons: Vec<String> = answer.not_now.iter().filter_map(waits).collect();
        reasons.sort();
        reasons.dedup();
        let causes =
            answer.causes.iter().take(4).map(|c| format!("{}/{} {:.3}", c.part, c.condition, c.p_cause));
        let causes = causes.collect::<Vec<_>>().join(", ");
        format!("    got {}\n    likely {causes}\n    waiting: {}\n", first.join(", "), reasons.join(" | "))
    }
}

/// A list for people; none if it is empty.
fn listed<'s>(found: impl Iterator<Item = &'s str>) -> Option<String> {
    let found: Vec<&str> = found.collect();
    (!found.is_empty()).then(|| found.join(", "))
}

/// What a row misses on a machine, for people; none if it holds.
fn complaint(row: &Row, machine: &Machine) -> Option<String> {
    let answer = row.recorded.as_ref().map(|notes| {
        assess_on(machine, &recorded(machine, notes))
            .map_err(|e| format!("line {}: {}: {e}", row.line, machine.id()))
            .expect("a possible job")
    });
    let first = row.demands.iter().filter(|(word, _)| word == "first").flat_map(|(_, v)| ids(v)).collect();
    let played = Played { machine, answer, first };
    let missed: Vec<String> = row
        .demands
        .iter()
        .filter_map(|(word, value)| {
            played.misses(word, value).map(|got| format!("    {word}: {value}\n      but {got}\n"))
        })
        .collect();
    (!missed.is_empty()).then(|| {
        let state = row.recorded.as_deref().unwrap_or("the description");
        format!("line {}, {}: {state}\n{}{}", row.line, machine.id(), missed.concat(), played.got())
    })
}

#[test]
fn the_advice_is_what_a_careful_mechanic_does() {
    let machines = Machine::all_shipped().expect("the shipped machines");
    let machine = |id: &str| machines.iter().find(|m| m.id() == id).expect(id);
    let (mut failed, mut played) = (Vec::new(), 0);
    for row in rows() {
        for id in &row.machines {
            played += 1;
            match (complaint(&row, machine(id)), row.open.get(id)) {
                (Some(complaint), None) => failed.push(complaint),
                (None, Some(reason)) => {
                    failed.push(format!("line {}, {id}: holds, but is listed as open: {reason}\n", row.line));
                }
                _ => {}
            }
        }
    }
    assert!(failed.is_empty(), "{} of {played} fail\n{}", failed.len(), failed.join("\n"));
}
