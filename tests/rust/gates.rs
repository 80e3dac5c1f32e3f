//! Every gate of every shipped machine, one by one: what closes it, what waits, what opens it, and what it is for.

use std::sync::OnceLock;

use halfsplit::advise::{AdviceSession, Assessment, Obstacle};
use halfsplit::job::{JobFile, KnownAct, Provenance, StepRecord};
use halfsplit::machine::Machine;
use halfsplit::machine::file::{Gate, Involvement, Lift, MachineFile};
use halfsplit_tests::{found, found_as, job, repair};

/// Findings that make a state likely enough to close a gate; those of a check that a machine lacks are left out.
const LIKELY: &[(&str, &[(&str, &str)])] = &[
    ("recoil/broken", &[("rope-feel", "no-turn"), ("recoil-look", "fails")]),
    (
        "headspace/locked",
        &[
            ("ask-tipped", "wrong-way"),
            ("oil-level", "over"),
            ("oil-smell", "fuel"),
            ("rope-feel", "stops"),
            ("battery-rest-volts", "charged"),
            ("does-it-crank", "one-click"),
            ("battery-cranking-volts", "holds"),
            ("cables-look", "good"),
            ("cable-drop", "little"),
        ],
    ),
    (
        "crank/seized",
        &[
            ("oil-level", "none"),
            ("rope-feel", "stops"),
            ("does-it-crank", "one-click"),
            ("slow-turn", "stuck"),
        ],
    ),
    ("key/sheared", &[("rope-feel", "snatch"), ("key-peek", "offset"), ("key-look", "sheared")]),
];

/// Gates that a belief closes on other machines, and why nothing that is found makes it strong enough on this one.
const TOO_UNLIKELY: &[(&str, &str, &str)] = &[(
    "riding-mower",
    "locked",
    "one click speaks for battery and starter first; `liquid` holds it by the finding",
)];

fn machines() -> &'static [Machine] {
    static ALL: OnceLock<Vec<Machine>> = OnceLock::new();
    ALL.get_or_init(|| Machine::all_shipped().expect("the shipped machines"))
}

/// The machine with only some of its gates.
fn with_gates(file: &MachineFile, keep: impl Fn(&Gate) -> bool) -> Machine {
    let mut file = file.clone();
    file.gates.retain(keep);
    // A repair that cures nothing is there to open a gate.
    let named =
        |id: &String| file.gates.iter().any(|g| g.until.iter().any(|l| l.repair.as_ref() == Some(id)));
    file.repairs.retain(|r| !r.cures.is_empty() || named(&r.id));
    Machine::new(file).expect("the machine with fewer gates")
}

/// The results of a check, or those of them that are listed.
fn results<'f>(file: &'f MachineFile, check: &str, listed: &'f [String]) -> Vec<&'f str> {
    let all =
        || file.checks.iter().find(|c| c.id == check).expect(check).results.iter().map(|r| r.id.as_str());
    all().filter(|r| listed.is_empty() || listed.iter().any(|l| l == r)).collect()
}

/// Every way to close a gate: a finding, or findings that make a state likely.
fn closings(file: &MachineFile, gate: &Gate) -> Vec<Vec<StepRecord>> {
    let by_finding = gate.after.iter().flat_map(|after| {
        results(file, &after.check, &after.results).into_iter().map(|r| vec![found(&after.check, r)])
    });
    let by_belief = gate.likely.iter().map(|likely| {
        let known = LIKELY.iter().find(|(when, _)| *when == likely.when);
        let (_, findings) = known.expect(&likely.when);
        let has = |(check, _): &&(&str, &str)| file.checks.iter().any(|c| c.id == *check);
        findings.iter().filter(has).map(|(check, result)| found(check, result)).collect()
    });
    by_finding.chain(by_belief).collect()
}

/// The ways to take a step that opens a gate: made by whoever keeps the job, and told.
fn openings(file: &MachineFile, lift: &Lift) -> Vec<[StepRecord; 2]> {
    match (&lift.check, &lift.repair) {
        (Some(check), _) => {
            let of = |result| {
                [found_as(check, result, Provenance::Seen), found_as(check, result, Provenance::Told)]
            };
            results(file, check, &lift.results).into_iter().map(of).collect()
        }
        (None, Some(id)) => {
            let told = StepRecord::Repair { repair: id.clone(), known: Some(KnownAct::Told) };
            vec![[repair(id), told]]
        }
        (None, None) => Vec::new(),
    }
}

/// The first assessment of a job with these steps; none if the findings exclude each other.
fn assessed(machine: &Machine, steps: &[StepRecord]) -> Option<Assessment> {
    let file = JobFile { machine: machine.id().to_owned(), ..job(steps) };
    AdviceSession::new(machine, &file).ok().map(|s| s.assessment().clone())
}

/// The steps that involve what a gate holds and do not open it.
fn held<'f>(file: &'f MachineFile, gate: &Gate) -> Vec<&'f str> {
    let holds = |involves: &[Involvement]| involves.iter().any(|i| gate.holds.contains(i));
    let start = holds(&[Involvement::Turning, Involvement::Spark]);
    let checks = file.checks.iter().filter(|c| holds(&c.involves)).map(|c| c.id.as_str());
    let repairs = file.repairs.iter().filter(|r| holds(&r.involves)).map(|r| r.id.as_str());
    let bypasses = file.bypasses.iter().filter(|b| start || holds(&b.involves)).map(|b| b.id.as_str());
    let opens =
        |id: &&str| gate.until.iter().any(|l| [&l.check, &l.repair].into_iter().flatten().any(|o| o == id));
    checks.chain(repairs).chain(bypasses).chain(start.then_some("attempt")).filter(|id| !opens(id)).collect()
}

/// The steps that wait at a gate, and whether each names a step that opens it.
fn waiting(answer: &Assessment, gate: &Gate) -> Vec<String> {
    let at_gate = answer.not_now.iter().filter(|n| match &n.obstacle {
        Obstacle::Waits { why, until } => {
            assert!(*why != gate.why || !until.is_empty(), "{}: nothing opens it", gate.id);
            *why == gate.why
        }
        _ => false,
    });
    at_gate.map(|n| n.id.clone()).collect()
}

fn offered(answer: &Assessment, id: &str) -> bool {
    answer.ranking.iter().any(|s| s.id == id)
}

/// Calls a function with every gate, and collects its complaints.
fn every_gate(complaints: impl Fn(&Machine, &Gate) -> Vec<String>) {
    let (mut all, mut met) = (Vec::new(), 0);
    for machine in machines() {
        for gate in &machine.file().gates {
            met += 1;
            let told = complaints(machine, gate).into_iter();
            all.extend(told.map(|what| format!("{}, {}: {what}", machine.id(), gate.id)));
        }
    }
    assert!(met >= 5 * machines().len(), "only {met} gates");
    assert!(all.is_empty(), "{} complaints\n{}", all.len(), all.join("\n"));
}

#[test]
fn a_closed_gate_holds_every_step_that_involves_what_it_holds() {
    every_gate(|machine, gate| {
        let file = machine.file();
        let (alone, without) = (with_gates(file, |g| g.id == gate.id), with_gates(file, |_| false));
        let mut wrong = Vec::new();
        for closing in closings(file, gate) {
            let state = format!("{closing:?}");
            let closed = assessed(&alone, &closing).expect("a possible finding");
            let open = assessed(&without, &closing).expect("a possible finding");
            let waits = waiting(&closed, gate);
            if TOO_UNLIKELY.iter().any(|(id, gate_id, _)| machine.id() == *id && gate.id == *gate_id) {
                wrong.extend((!waits.is_empty()).then(|| format!("is not too unlikely after {state}")));
                continue;
            }
            let let_through = |id: &&str| offered(&closed, id);
            wrong.extend(
                held(file, gate).into_iter().filter(let_through).map(|id| format!("{id} after {state}")),
            );
            // Without the gate the same steps are offered, except those that something else holds back.
            if waits.is_empty() || !waits.iter().any(|id| offered(&open, id)) {
                wrong.push(format!("holds nothing that would be offered after {state}"));
            }
        }
        wrong
    });
}

#[test]
fn a_step_that_opens_a_gate_comes_first() {
    every_gate(|machine, gate| {
        let first = |closing: &Vec<StepRecord>| {
            let answer = assessed(machine, closing).expect("a possible finding");
            let first = answer.ranking.first().map_or("", |s| s.id.as_str()).to_owned();
            let opens = |g: &Gate| {
                let lifts = g.until.iter().flat_map(|l| [&l.check, &l.repair]).flatten();
                lifts.into_iter().any(|id| *id == first)
            };
            (!machine.file().gates.iter().any(opens))
                .then(|| format!("{first} comes first after {closing:?}"))
        };
        closings(machine.file(), gate).iter().filter_map(first).collect()
    });
}

#[test]
fn a_gate_opens_after_its_step_and_not_by_hearsay() {
    every_gate(|machine, gate| {
        let file = machine.file();
        let alone = with_gates(file, |g| g.id == gate.id);
        let mut wrong = Vec::new();
        for closing in closings(file, gate) {
            let ways: Vec<[StepRecord; 2]> =
                gate.until.iter().flat_map(|lift| openings(file, lift)).collect();
            let waits = |step: &StepRecord| {
                let answer = assessed(&alone, &[&closing[..], std::slice::from_ref(step)].concat());
                answer.is_some_and(|a| !waiting(&a, gate).is_empty())
            };
            if !gate.likely.is_empty() {
                // A repair may leave the state likely until a look shows that it took.
                if !opened_by_belief(&alone, gate, &closing, &ways) {
                    wrong.push(format!("nothing opens it after {closing:?}"));
                }
                continue;
            }
            for [seen, told] in ways {
                if waits(&seen) {
                    wrong.push(format!("closed after {closing:?} and {seen:?}"));
                }
                if !waits(&told) {
                    wrong.push(format!("open after {closing:?} and {told:?}"));
                }
            }
        }
        wrong
    });
}

/// Whether one step, or a repair and then a look, opens a gate that a belief has closed.
fn opened_by_belief(
    machine: &Machine,
    gate: &Gate,
    closing: &[StepRecord],
    ways: &[[StepRecord; 2]],
) -> bool {
    let steps = || ways.iter().map(|[seen, _]| seen.clone());
    let one = steps().map(|step| vec![step]);
    let two = steps().flat_map(|first| steps().map(move |second| vec![first.clone(), second]));
    one.chain(two).any(|done| {
        let answer = assessed(machine, &[closing, &done[..]].concat());
        answer.is_some_and(|a| waiting(&a, gate).is_empty())
    })
}

#[test]
fn a_result_that_does_not_open_a_gate_leaves_it_closed() {
    let mower = machines().iter().find(|m| m.id() == "mower-recoil").expect("the mower");
    let gate = mower.file().gates.iter().find(|g| g.id == "rope-snatches").expect("a gate");
    let alone = with_gates(mower.file(), |g| g.id == gate.id);
    let after = |result: &str| {
        let steps = [found("rope-feel", "snatch"), found("key-peek", result)];
        waiting(&assessed(&alone, &steps).expect("possible"), gate).len()
    };
    assert!(after("unclear") > 0 && after("offset") > 0);
    assert_eq!(after("in-line"), 0);
}
