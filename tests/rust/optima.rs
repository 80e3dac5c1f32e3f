//! Compares the expected cost of the advice with the optimum, on machines small enough for a full search.

use halfsplit::advise::StepKind;
use halfsplit::job::Outcome;
use halfsplit::precision::EXACT;
use halfsplit_tests::optimum::{Bounds, Layout, Ways};
use halfsplit_tests::small::{Fault, Lift, Look, Mend, Place, Small};
use halfsplit_tests::{cause, close};
use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng as _, SeedableRng as _};
use rayon::prelude::*;

/// Random numbers that are the same on every platform.
struct Draw(Pcg64Mcg);

impl Draw {
    fn of(seed: u64) -> Self {
        Draw(Pcg64Mcg::seed_from_u64(seed))
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Random number with a log-uniform distribution.
    fn times(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    fn below(&mut self, n: usize) -> usize {
        (self.between(0.0, n as f64) as usize).min(n - 1)
    }

    fn chance(&mut self, p: f64) -> bool {
        self.between(0.0, 1.0) < p
    }

    fn one<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len())]
    }
}

/// Random machine with several faults at once, harmless faults, misleading checks, a bypass start,
/// overlapping repairs that may not take, shared set-up and a price for giving up.
fn random(seed: u64) -> Small {
    let mut d = Draw::of(seed);
    let parts: Vec<Vec<Fault>> = (0..3 + d.below(2))
        .map(|_| {
            let faults = 1 + usize::from(d.chance(0.3));
            let fault = |_| Fault {
                harmless: if d.chance(0.4) { d.between(0.02, 0.1) } else { 0.0 },
                acting: d.times(0.02, 0.25),
                outcome: d.one(&[Outcome::Dies, Outcome::Tries, Outcome::Nothing]),
            };
            (0..faults).map(fault).collect()
        })
        .collect();
    let places: Vec<Place> =
        parts.iter().enumerate().flat_map(|(p, f)| (0..f.len()).map(move |f| (p, f))).collect();
    let some = |d: &mut Draw| {
        let mut some = vec![d.one(&places)];
        if d.chance(0.4) {
            some.push(d.one(&places));
            some.sort_unstable();
            some.dedup();
        }
        some
    };
    let look = |d: &mut Draw| {
        let (hit, alarm) = (d.between(0.7, 1.0), if d.chance(0.3) { 0.0 } else { d.between(0.02, 0.25) });
        let unclear = if d.chance(0.3) { d.between(0.02, 0.15) } else { 0.0 };
        let row = |p: f64| match unclear {
            0.0 => vec![1.0 - p, p],
            _ => vec![(1.0 - p) * (1.0 - unclear), p * (1.0 - unclear), unclear],
        };
        Look {
            at: some(d),
            acting_only: d.chance(0.3),
            shows: [row(hit), row(alarm)],
            price: d.times(1.0, 8.0),
            open: d.chance(0.4),
        }
    };
    let checks = (0..2 + d.below(3)).map(|_| look(&mut d)).collect();
    let bypasses = (0..d.below(2)).map(|_| Lift { of: some(&mut d), price: d.between(2.0, 6.0) }).collect();
    let mend = |d: &mut Draw, cures| Mend {
        cures,
        takes: d.one(&[1.0, 1.0, 0.9, 0.8]),
        price: d.times(3.0, 60.0),
        open: d.chance(0.4),
    };
    let mut repairs = Vec::new();
    for place in &places {
        if d.chance(0.85) {
            repairs.push(mend(&mut d, vec![*place]));
        }
    }
    for _ in 0..d.below(3) {
        let cures = some(&mut d);
        repairs.push(mend(&mut d, cures));
    }
    Small {
        parts,
        checks,
        bypasses,
        repairs,
        open: d.between(0.0, 10.0),
        attempt: d.between(1.0, 4.0),
        starts: d.one(&[1.0, 0.95]),
        hand_over: d.times(40.0, 300.0),
    }
}

/// Number of machines on which the advice is tested.
const MACHINES: u64 = 290;
/// Least number of machines whose optimum must be known to within `CLOSE`.
const LEAST: usize = 200;
/// Largest gap between the bounds of an optimum, relative to the lower bound. Machines with a larger gap are
/// not compared.
const CLOSE: f64 = 0.005;
/// Largest number of belief states that the search for an optimum visits.
const MOST: usize = 30_000;

/// Expected cost of a machine under the advice, and bounds of its optimum.
struct Compared {
    seed: u64,
    advised: f64,
    best: Bounds,
}

impl Compared {
    fn new(seed: u64) -> Self {
        let small = random(seed);
        let layout = Layout::new(&small);
        let advised = layout.advised(|answer, acts| {
            // The probabilities of the engine agree with sums over all states of the machine.
            for (part, faults) in small.parts.iter().enumerate() {
                for fault in 0..faults.len() {
                    let id = format!("p{part}/f{fault}");
                    let p = cause(answer, &id).p_cause;
                    close(&format!("machine {seed}, {id}"), p, acts((part, fault)), EXACT);
                }
            }
        });
        Compared { seed, advised, best: layout.optimum(Ways::Any, CLOSE, MOST) }
    }

    /// Upper bound of the extra cost of the advice, relative to the optimum.
    fn over(&self) -> f64 {
        self.advised / self.best.low - 1.0
    }
}

#[test]
fn the_advice_comes_near_the_best_there_is() {
    let all: Vec<Compared> = (0..MACHINES).into_par_iter().map(Compared::new).collect();
    for machine in &all {
        let Compared { seed, advised, best } = machine;
        // Rounding and very rare branches count against the advice, so it cannot cost less than the optimum.
        assert!(*advised >= best.low * (1.0 - EXACT), "machine {seed}: {advised} is better than {best:?}");
    }
    let mut known: Vec<&Compared> =
        all.iter().filter(|m| m.best.high <= m.best.low * (1.0 + CLOSE)).collect();
    assert!(known.len() >= LEAST, "{} of {MACHINES}", known.len());
    known.sort_by(|a, b| a.over().total_cmp(&b.over()));
    let n = known.len();
    let mean = known.iter().map(|m| m.over()).sum::<f64>() / n as f64;
    let near = known.iter().filter(|m| m.over() <= 0.03).count();
    let [half, most] = [0.5, 0.9].map(|share| known[(share * n as f64) as usize].over());
    println!(
        "{n} machines: {near} within 3 %; mean {mean:.4}, median {half:.4}, nine of ten within {most:.4}"
    );
    println!("dearest by the number of the machine:");
    for Compared { seed, advised, best } in known.iter().rev().take(12) {
        println!("{seed:4}: {advised:8.3}, best {:8.3} to {:8.3}", best.low, best.high);
    }
    // The aim is an extra cost of at most 3 %: on 200 machines, on average, and on 9 of 10 machines.
    // DEVELOPERS.md states the extra cost of the worst machines.
    assert!(near >= LEAST, "{near}");
    assert!(mean <= 0.03 && most <= 0.03, "{mean} {most}");
}

/// With a single fault, repairs that always take and no checks, repairs in descending order of probability
/// over cost are optimal (Kadane and Simon 1977), also with handing over (Heckerman, Breese and Rommelse
/// 1995).
#[test]
fn the_advice_is_the_best_where_a_theorem_says_so() {
    let mut handed_over = 0;
    for seed in 0..60 {
        let mut d = Draw::of(1000 + seed);
        let fault =
            |d: &mut Draw| Fault { harmless: 0.0, acting: d.times(0.01, 0.19), outcome: Outcome::Nothing };
        let faults: Vec<Fault> = (0..5).map(|_| fault(&mut d)).collect();
        let mend = |f| Mend { cures: vec![(0, f)], takes: 1.0, price: d.times(2.0, 60.0), open: false };
        let repairs = (0..faults.len()).map(mend).collect();
        let small = Small {
            parts: vec![faults],
            checks: Vec::new(),
            bypasses: Vec::new(),
            repairs,
            open: 1.0,
            // The theorem has no cost for an attempt to start.
            attempt: 0.0,
            starts: 1.0,
            hand_over: d.times(20.0, 300.0),
        };
        let layout = Layout::new(&small);
        let mut stops = false;
        let advised = layout.advised(|answer, _| {
            stops |= answer.next.as_ref().is_some_and(|s| s.kind == StepKind::HandOver);
        });
        handed_over += u32::from(stops);
        let best = layout.optimum(Ways::TryAfterRepair, EXACT, MOST);
        close(&format!("machine {seed}"), advised, best.high, 2.0 * EXACT * best.high);
    }
    assert!(handed_over > 10 && handed_over < 50, "{handed_over} of 60 come to handing over");
}
