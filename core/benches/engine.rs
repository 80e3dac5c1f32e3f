//! The work of the engine on the shipped mower. Run with `cargo bench -p halfsplit`.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use halfsplit::job::{Job, JobFile};
use halfsplit::machine::Machine;

fn engine(criterion: &mut Criterion) {
    criterion.bench_function("read and calibrate the mower", |b| {
        b.iter(|| Machine::shipped(black_box("mower-recoil")));
    });
    let machine = Machine::shipped("mower-recoil").expect("the shipped mower is valid");
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
