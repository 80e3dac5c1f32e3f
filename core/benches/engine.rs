//! Benchmarks of the engine on the shipped mower. Run them with `cargo bench -p halfsplit`.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use halfsplit::advise::AdviceSession;
use halfsplit::job::{Job, JobFile, Outcome, StepRecord};
use halfsplit::machine::Machine;

/// Benchmarks the full ranking after 0, 2, 4 and 8 failed start attempts.
///
/// The first attempt is on the machine as it came in. Each later attempt follows one more repair that did not
/// help.
fn by_attempts(criterion: &mut Criterion, machine: &Machine) {
    let empty = JobFile::from_json(&format!(r#"{{"machine": "{}"}}"#, machine.id())).expect("an empty job");
    let mut repairs = machine.file().repairs.iter();
    let mut steps = Vec::new();
    for attempts in 0..=8 {
        if [0, 2, 4, 8].contains(&attempts) {
            let file = JobFile { steps: steps.clone(), ..empty.clone() };
            let job = Job::new(machine, &file).expect("a job on the mower");
            criterion.bench_function(&format!("full ranking after {attempts} attempts"), |b| {
                b.iter(|| {
                    AdviceSession::new(machine, black_box(&file))
                        .map(|session| session.assessment().expected_cost)
                });
            });
            criterion.bench_function(&format!("the same, looked ahead, after {attempts} attempts"), |b| {
                b.iter(|| black_box(&job).assess());
            });
        }
        if attempts > 0 {
            steps.extend(repairs.next().map(|r| StepRecord::Repair { repair: r.id.clone(), known: None }));
        }
        steps.push(StepRecord::Attempt { bypass: Vec::new(), outcome: Outcome::Nothing, known: None });
    }
}

fn engine(criterion: &mut Criterion) {
    criterion.bench_function("read and calibrate the mower", |b| {
        b.iter(|| Machine::shipped(black_box("mower-recoil")));
    });
    let machine = Machine::shipped("mower-recoil").expect("the shipped mower is valid");
    by_attempts(criterion, &machine);
    let demo = JobFile::demo().expect("the demo job is valid");
    for steps in [0, 4, demo.steps.len()] {
        let file = JobFile { steps: demo.steps[..steps].to_vec(), ..demo.clone() };
        let job = Job::new(&machine, &file).expect("the demo job fits the mower");
        criterion.bench_function(&format!("odds of the demo job after {steps} steps"), |b| {
            b.iter(|| black_box(&job).cause_chances());
        });
        criterion.bench_function(&format!("full ranking of the demo job after {steps} steps"), |b| {
            b.iter(|| black_box(&job).assess());
        });
    }
}

criterion_group!(benches, engine);
criterion_main!(benches);
