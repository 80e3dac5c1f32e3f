//! Worked examples from the literature on decisions: which observation to make, what to repair first, when to stop.
//!
//! "Published" and "from memory" name the source of a figure. All figures are also recomputed from the published
//! inputs in Python (numpy only), independent of this program.

use std::collections::HashMap;

use halfsplit::job::{Outcome, StepRecord};
use halfsplit_bayes::{JunctionTree, Network, NetworkBuilder, VarId};
use halfsplit_tests::optimum::{Layout, Ways, small_job};
use halfsplit_tests::small::{Fault, Look, Mend, Small};
use halfsplit_tests::{assess_on, attempt, cause, close, evidence, found, odds, p_evidence, printed, ranked};

/// A compiled network for repeated queries.
struct Asked {
    network: Network,
    tree: JunctionTree,
}

impl Asked {
    fn new(builder: NetworkBuilder) -> Self {
        let network = builder.build().expect("a network");
        let tree = JunctionTree::compile(&network).expect("a tree");
        Asked { network, tree }
    }

    /// Probabilities of the states of a variable given findings.
    fn chances(&self, name: &str, found: &[(&str, &str)]) -> Vec<f64> {
        let posterior = self.tree.posterior(&evidence(&self.network, found)).expect("possible findings");
        posterior.marginal(self.network.require(name).expect("a variable")).to_vec()
    }

    /// Probability of findings; 0 if they exclude each other.
    fn together(&self, found: &[(&str, &str)]) -> f64 {
        self.tree.posterior(&evidence(&self.network, found)).map_or(0.0, |p| p.log_p_evidence().exp())
    }

    /// Entropy in bits over the candidates given findings.
    fn entropy(&self, candidates: &[Vec<(&str, &str)>], found: &[(&str, &str)]) -> f64 {
        let weights = candidates.iter().map(|c| self.together(&[c.as_slice(), found].concat()));
        let weights: Vec<f64> = weights.filter(|w| *w > 0.0).collect();
        let all: f64 = weights.iter().sum();
        weights.iter().map(|w| -w / all * (w / all).log2()).sum()
    }

    /// Expected entropy in bits after one more observation.
    fn entropy_after(&self, look: &str, candidates: &[Vec<(&str, &str)>], found: &[(&str, &str)]) -> f64 {
        let states = self.network.variable(self.network.require(look).expect("a variable")).states().to_vec();
        let chances = self.chances(look, found);
        let seen = states.iter().zip(chances).filter(|(_, p)| *p > 0.0);
        seen.map(|(s, p)| p * self.entropy(candidates, &[found, &[(look, s.as_str())]].concat())).sum()
    }
}

/// Oil wildcatter: Raiffa 1968, "Decision Analysis"; numbers as printed by Shenoy 1992. In thousands.
#[test]
fn oil_wildcatter() {
    let mut b = NetworkBuilder::new();
    // Published: an exercise page of a textbook.
    let oil = b.add("oil", ["dry", "wet", "soaking"], &[], vec![0.5, 0.3, 0.2]).expect("a table");
    // Published: manual of a statistics package.
    let test = vec![0.6, 0.3, 0.1, 0.3, 0.4, 0.3, 0.1, 0.4, 0.5];
    b.add("structure", ["none", "open", "closed"], &[oil], test).expect("a table");
    let asked = Asked::new(b);
    // Published: a teaching page citing both. Drilling costs 70, a test 10; `worth` is the value of the oil.
    let (drilling, testing, worth) = (70.0, 10.0, [0.0, 120.0, 270.0]);
    let drill = |found: &[(&str, &str)]| -> f64 {
        asked.chances("oil", found).iter().zip(worth).map(|(p, w)| p * (w - drilling)).sum()
    };
    // From memory.
    printed("untested", drill(&[]), 20.0, 9);
    let known =
        asked.chances("oil", &[]).iter().zip(worth).map(|(p, w)| p * (w - drilling).max(0.0)).sum::<f64>();
    printed("value of perfect information", known - drill(&[]), 35.0, 9);
    // The page prints .40, .35, .25, which are rounded.
    let structure = asked.chances("structure", &[]);
    for (got, expected) in structure.iter().zip([0.41, 0.35, 0.24]) {
        printed("structure", *got, expected, 9);
    }
    let after = ["none", "open", "closed"].map(|s| drill(&[("structure", s)]));
    for (got, expected) in after.iter().zip([-30.488, 32.857, 87.5]) {
        printed("drill after the test", *got, expected, 3);
    }
    let tested: f64 = structure.iter().zip(after).map(|(p, v)| p * v.max(0.0)).sum();
    printed("value of the test before its cost", tested - drill(&[]), 12.5, 9);
    // From memory: the best strategy is to test, and to drill unless there is no structure.
    printed("best strategy", tested - testing, 22.5, 9);
}

/// Howard 1966, "Information value theory": a bid where the cost is uniform between 0 and 1 and the lowest rival bid
/// uniform between 0 and 2. Both are discretised: the cost is the middle of one of `N` cells, the rival bid is in
/// one of `8 N` cells. A bid at the lower edge of a cell wins against rivals in that cell or above.
#[test]
fn values_of_information_do_not_add() {
    const N: usize = 8;
    const RIVALS: usize = 8 * N;
    let names = |n: usize| (0..n).map(|i| i.to_string()).collect::<Vec<_>>();
    let even = |n: usize| vec![1.0 / n as f64; n];
    let mut b = NetworkBuilder::new();
    b.add("cost", names(N), &[], even(N)).expect("a table");
    let rival = b.add("rival", names(RIVALS), &[], even(RIVALS)).expect("a table");
    let bid = b.add("bid", names(RIVALS), &[], even(RIVALS)).expect("a table");
    let wins = |i: usize, j: usize| if i >= j { [1.0, 0.0] } else { [0.0, 1.0] };
    let table = (0..RIVALS).flat_map(|i| (0..RIVALS).flat_map(move |j| wins(i, j))).collect();
    b.add("won", ["yes", "no"], &[rival, bid], table).expect("a table");
    let asked = Asked::new(b);

    let width = 2.0 / RIVALS as f64;
    let mean_cost = |found: &[(&str, &str)]| -> f64 {
        asked.chances("cost", found).iter().enumerate().map(|(k, p)| p * (k as f64 + 0.5) / N as f64).sum()
    };
    // The best bid and its expected profit, the rival bid unknown.
    let best = |found: &[(&str, &str)]| -> (f64, f64) {
        let profit = |j: usize| {
            let (at, bid) = (j.to_string(), j as f64 * width);
            let won = asked.chances("won", &[found, &[("bid", at.as_str())]].concat())[0];
            (bid, won * (bid - mean_cost(found)))
        };
        (0..RIVALS).map(profit).max_by(|a, b| a.1.total_cmp(&b.1)).expect("some bid")
    };
    // Against a rival bid in a known cell, the best bid is the middle of the cell, or none.
    let against = |i: usize, found: &[(&str, &str)]| -> f64 {
        let at = i.to_string();
        let won = asked.chances("won", &[("rival", at.as_str()), ("bid", at.as_str())])[0];
        (won * ((i as f64 + 0.5) * width - mean_cost(found))).max(0.0)
    };
    type Value<'v> = &'v dyn Fn(&[(&str, &str)]) -> f64;
    let over_costs = |value: Value| -> f64 {
        let each = asked.chances("cost", &[]);
        each.iter().enumerate().map(|(k, p)| p * value(&[("cost", k.to_string().as_str())])).sum()
    };
    let over_rivals =
        |found: &[(&str, &str)]| (0..RIVALS).map(|i| against(i, found) / RIVALS as f64).sum::<f64>();

    // Published: page of the book.
    let (bid, profit) = best(&[]);
    close("best bid", bid, 5.0 / 4.0, 1e-12);
    close("profit", profit, 9.0 / 32.0, 1e-12);
    // From memory. For terms quadratic in the cost the cells are off by f'' / (24 N^2); all kinks are at edges.
    let n2 = (N * N) as f64;
    let cost = over_costs(&|found| best(found).1) - profit;
    close("clairvoyance on the cost", cost, 1.0 / 96.0 - 1.0 / (96.0 * n2), 1e-12);
    let rival = over_rivals(&[]) - profit;
    close("clairvoyance on the rival", rival, 27.0 / 96.0, 1e-12);
    let both = over_costs(&over_rivals) - profit;
    close("clairvoyance on both", both, 29.0 / 96.0 - 1.0 / (48.0 * n2), 1e-12);
    assert!(both > cost + rival, "the two together are worth more");
}

/// Weitzman 1979, "Optimal search for the best alternative": two boxes, each opened at a price, and the best
/// find is kept. Inputs published: excerpt of the article.
#[test]
fn the_box_with_the_smaller_mean_is_opened_first() {
    let mut b = NetworkBuilder::new();
    b.add("alpha", ["100", "55"], &[], vec![0.5, 0.5]).expect("a table");
    b.add("omega", ["240", "0"], &[], vec![0.2, 0.8]).expect("a table");
    let asked = Asked::new(b);
    let price = HashMap::from([("alpha", 15.0), ("omega", 20.0)]);

    /// Value of opening this box and continuing optimally.
    fn open(asked: &Asked, price: &HashMap<&str, f64>, name: &str, kept: f64, rest: &[&str]) -> f64 {
        let states = asked.network.variable(asked.network.require(name).expect("a box")).states().to_vec();
        let inside = states.iter().zip(asked.chances(name, &[]));
        let after = |worth: f64| {
            let kept = kept.max(worth);
            let others = |next: &&str| rest.iter().copied().filter(|r| r != next).collect::<Vec<_>>();
            rest.iter().map(|next| open(asked, price, next, kept, &others(next))).fold(kept, f64::max)
        };
        inside.map(|(s, p)| p * after(s.parse().expect("a number"))).sum::<f64>() - price[name]
    }
    // Recomputed.
    printed("omega first", open(&asked, &price, "omega", 0.0, &["alpha"]), 78.0, 9);
    printed("alpha first", open(&asked, &price, "alpha", 0.0, &["omega"]), 75.0, 9);
    printed("alpha alone", open(&asked, &price, "alpha", 0.0, &[]), 62.5, 9);
    printed("omega alone", open(&asked, &price, "omega", 0.0, &[]), 28.0, 9);
    // From memory: the reservation prices, at which opening a box and keeping the best find are equally good.
    for (name, reservation) in [("alpha", 70.0), ("omega", 140.0)] {
        printed(name, open(&asked, &price, name, reservation, &[]), reservation, 9);
    }
}

/// A machine with exactly one of some faults; the price of a repair includes the attempt after it.
fn one_fault(p: &[f64], repairs: &[(&[usize], f64)], attempt: f64, hand_over: f64) -> Small {
    // Half of the machines have no fault and start.
    let fault = |p: &f64| Fault { harmless: 0.0, acting: p / 2.0, outcome: Outcome::Nothing };
    let mend = |(cures, price): &(&[usize], f64)| Mend {
        cures: cures.iter().map(|f| (0, *f)).collect(),
        takes: 1.0,
        price: price - attempt,
        open: false,
    };
    Small {
        parts: vec![p.iter().map(fault).collect()],
        checks: Vec::new(),
        bypasses: Vec::new(),
        repairs: repairs.iter().map(mend).collect(),
        open: 1.0,
        attempt,
        starts: 1.0,
        hand_over,
    }
}

/// The steps of a job with one failed attempt.
fn failed() -> [StepRecord; 1] {
    [attempt(Outcome::Nothing)]
}

const P: [f64; 5] = [0.40, 0.25, 0.20, 0.10, 0.05];
const REPAIRS: [(&[usize], f64); 5] = [(&[0], 60.0), (&[1], 5.0), (&[2], 20.0), (&[3], 15.0), (&[4], 2.0)];

/// Order of repairs: Kadane and Simon 1977; Heckerman, Breese and Rommelse 1995. The theorem is published; the
/// numbers are an example made up here, and the expected value is the best of all 120 orders by enumeration.
#[test]
fn repairs_by_chance_over_price() {
    // At 30 and 60 the hand-over comes before the last three repairs; at 120 and 1000 it never pays.
    for (hand_over, expected) in [(30.0, 27.5), (60.0, 48.5), (120.0, 52.0), (1000.0, 52.0)] {
        let small = one_fault(&P, &REPAIRS, 0.0, hand_over);
        let answer = assess_on(&small.machine(), &small_job(&failed())).expect("an assessment");
        let what = format!("a call-out at {hand_over}");
        printed(&what, answer.expected_cost, expected, 9);
        assert_eq!(answer.next.map(|s| s.id).as_deref(), Some("m1"), "{what}");
        let layout = Layout::new(&small);
        printed(&what, layout.advised(|_, _| ()), expected, 9);
        let best = layout.optimum(Ways::TryAfterRepair, 1e-9, 10_000);
        printed(&what, best.low, expected, 6);
    }
}

/// The order of checks where each part has a check with its own price and only the faulty one is repaired. The best
/// list checks 2, 5, 1, 3, 4, in the order of p / price of the check, and costs 36.65 (by enumeration of all lists).
#[test]
fn look_then_mend() {
    let looks = [10.0, 2.0, 6.0, 5.0, 1.0];
    let repairs: [(&[usize], f64); 5] = [(&[0], 50.0), (&[1], 3.0), (&[2], 14.0), (&[3], 10.0), (&[4], 1.0)];
    let mut small = one_fault(&P, &repairs, 0.25, 1000.0);
    let look = |(f, price): (usize, &f64)| Look {
        at: vec![(0, f)],
        acting_only: false,
        shows: [vec![0.0, 1.0], vec![1.0, 0.0]],
        price: *price,
        open: false,
    };
    small.checks = looks.iter().enumerate().map(look).collect();
    let layout = Layout::new(&small);
    let (advised, best) = (layout.advised(|_, _| ()), layout.optimum(Ways::Any, 1e-9, 10_000));
    // After all checks but one the last fault is known without its check, and a cheap repair needs no check.
    assert!(best.high < 36.65, "{best:?}");
    assert!(advised < 36.65, "{advised}");
    close("advice", advised, best.low, 0.03 * best.low);
}

/// Repairs that overlap: an example of Jensen and Nielsen 2007, from memory. Faults .20 .25 .40 .15; A1 cures the
/// first two, A2 the last two, A3 the middle two; each costs 1. The order by p / price costs 1.50, the best 1.45.
#[test]
fn overlapping_repairs_are_not_taken_by_chance_over_price() {
    let repairs: [(&[usize], f64); 3] = [(&[0, 1], 1.0), (&[2, 3], 1.0), (&[1, 2], 1.0)];
    let small = one_fault(&[0.20, 0.25, 0.40, 0.15], &repairs, 0.25, 100.0);
    let answer = assess_on(&small.machine(), &small_job(&failed())).expect("an assessment");
    printed("by chance over price", answer.plan_cost, 1.50, 9);
    printed("the advice", answer.expected_cost, 1.45, 9);
    // The best order is A2, then A1.
    assert_eq!(answer.next.as_ref().map(|s| s.id.as_str()), Some("m1"));
    let layout = Layout::new(&small);
    printed("followed to its end", layout.advised(|_, _| ()), 1.45, 9);
    printed("the best there is", layout.optimum(Ways::TryAfterRepair, 1e-9, 10_000).low, 1.45, 6);
}

/// All combinations of broken and sound parts.
fn candidates<'n>(parts: &[&'n str]) -> Vec<Vec<(&'n str, &'static str)>> {
    let word = |bits: usize, at: usize| if bits >> at & 1 == 1 { "broken" } else { "sound" };
    let of = |bits| parts.iter().enumerate().map(|(at, name)| (*name, word(bits, at))).collect();
    (0..1 << parts.len()).map(of).collect()
}

fn part(b: &mut NetworkBuilder, name: &str, broken: f64) -> VarId {
    b.add(name, ["broken", "sound"], &[], vec![broken, 1.0 - broken]).expect("a table")
}

/// Three multipliers and two adders: de Kleer and Williams 1987, "Diagnosing multiple faults". Inputs 3, 2, 2, 3, 3;
/// the outputs are 10, where 12 is right, and 12. A broken part gives any of sixteen values; sums are modulo 16.
#[test]
fn multipliers_and_adders() {
    const VALUES: usize = 16;
    let parts = ["M1", "M2", "M3", "A1", "A2"];
    let names: Vec<String> = (0..VALUES).map(|v| v.to_string()).collect();
    let any = vec![1.0 / VALUES as f64; VALUES];
    let only =
        |value: usize| (0..VALUES).map(|v| f64::from(u8::from(v == value % VALUES))).collect::<Vec<_>>();
    let mut b = NetworkBuilder::new();
    let [m1, m2, m3, a1, a2] = parts.map(|name| part(&mut b, name, 0.01));
    let [x, y, z] = [("X", m1), ("Y", m2), ("Z", m3)].map(|(name, part)| {
        b.add(name, names.clone(), &[part], [any.clone(), only(6)].concat()).expect("a table")
    });
    for (name, part, one, other) in [("F", a1, x, y), ("G", a2, y, z)] {
        let pairs = || (0..VALUES).flat_map(|i| (0..VALUES).map(move |j| i + j));
        let broken = pairs().flat_map(|_| any.clone());
        let table = broken.chain(pairs().flat_map(only)).collect();
        b.add(name, names.clone(), &[part, one, other], table).expect("a table");
    }
    let asked = Asked::new(b);
    let seen = [("F", "10"), ("G", "12")];
    let candidates = candidates(&parts);
    let all = asked.together(&seen);
    let shares: HashMap<Vec<&str>, f64> = candidates
        .iter()
        .map(|c| {
            let broken = c.iter().filter(|(_, state)| *state == "broken").map(|(name, _)| *name).collect();
            (broken, asked.together(&[c.as_slice(), &seen].concat()) / all)
        })
        .collect();
    // Published figure in course notes for {A2, M2}; the rest from memory: these, and no smaller ones.
    let possible: Vec<&Vec<&str>> = shares.iter().filter(|(_, p)| **p > 0.0).map(|(c, _)| c).collect();
    let holds = |small: &[&str], large: &[&str]| small.iter().all(|s| large.contains(s));
    let mut minimal: Vec<String> = possible
        .iter()
        .filter(|c| !possible.iter().any(|o| o.len() < c.len() && holds(o, c)))
        .map(|c| c.join(" "))
        .collect();
    minimal.sort();
    assert_eq!(minimal, ["A1", "M1", "M2 A2", "M2 M3"]);
    // Recomputed; the entropies by enumerating 32 sets and 16 values at X, Y and Z in plain Python.
    for one in ["A1", "M1"] {
        printed(one, shares[&vec![one]], 0.4962, 4);
    }
    assert!(shares.iter().filter(|(c, _)| c.len() > 1).all(|(_, p)| *p < 0.006));
    printed("entropy", asked.entropy(&candidates, &seen), 1.071_352, 6);
    for (probe, expected) in [("X", 0.038_337), ("Y", 1.063_548), ("Z", 1.067_007)] {
        printed(probe, asked.entropy_after(probe, &candidates, &seen), expected, 6);
    }
}

/// A chain of four inverters with a wrong output: an example of the same paper, recomputed with a broken inverter
/// giving a random bit.
#[test]
fn a_chain_is_split_in_the_middle_or_after_the_suspect() {
    type Row = ([f64; 4], [f64; 4], f64, [f64; 3]);
    let rows: [Row; 2] = [
        ([0.01; 4], [0.2462; 4], 2.1221, [1.3184, 1.1322, 1.3184]),
        ([0.025, 0.01, 0.01, 0.01], [0.4496, 0.1771, 0.1771, 0.1771], 2.0027, [1.0219, 1.0708, 1.3282]),
    ];
    let (parts, points) = (["I1", "I2", "I3", "I4"], ["1", "2", "3", "4"]);
    for (broken, singles, entropy, after) in rows {
        let mut b = NetworkBuilder::new();
        let mut before = b.add("0", ["wrong", "right"], &[], vec![0.0, 1.0]).expect("a table");
        for (at, name) in parts.into_iter().enumerate() {
            let part = part(&mut b, name, broken[at]);
            let table = vec![0.5, 0.5, 0.5, 0.5, 1.0, 0.0, 0.0, 1.0];
            before = b.add(points[at], ["wrong", "right"], &[part, before], table).expect("a table");
        }
        let asked = Asked::new(b);
        let (seen, candidates) = ([("4", "wrong")], candidates(&parts));
        for (at, expected) in singles.into_iter().enumerate() {
            let alone = asked.together(&[candidates[1 << at].as_slice(), &seen].concat());
            printed(parts[at], alone / asked.together(&seen), expected, 4);
        }
        printed("entropy", asked.entropy(&candidates, &seen), entropy, 4);
        for (point, expected) in points.into_iter().zip(after) {
            printed(point, asked.entropy_after(point, &candidates, &seen), expected, 4);
        }
    }
}

/// The information of one check (recomputed): 12 in 100 without spark; a gap tester that is right 97 times in a
/// hundred either way, and a visual check that is right 70 times.
#[test]
fn what_one_check_is_worth() {
    let look = |right: f64| Look {
        at: vec![(0, 0)],
        acting_only: false,
        shows: [vec![1.0 - right, right], vec![right, 1.0 - right]],
        price: 1.0,
        open: false,
    };
    let mut small = one_fault(&[0.24], &[(&[0], 10.0)], 1.0, 100.0);
    small.checks = vec![look(0.97), look(0.70)];
    let machine = small.machine();
    let answer = |steps: &[StepRecord]| assess_on(&machine, &small_job(steps)).expect("an assessment");
    let p = |steps: &[StepRecord]| cause(&answer(steps), "p0/f0").p_cause;
    close("before", p(&[]), 0.12, 1e-12);
    let rows = [("c0", 0.8151, 0.0042, 0.397, 15.1), ("c1", 0.2414, 0.0552, 0.051, 3.7)];
    for (check, positive, negative, bits, weight) in rows {
        let [bad, good] = ["r1", "r0"].map(|result| p(&[found(check, result)]));
        printed(check, bad, positive, 4);
        printed(check, good, negative, 4);
        let got = ranked(&answer(&[]), check).information_bits.expect("an observation");
        printed(check, got, bits, 3);
        // Weight of evidence in decibans (Good 1950).
        let decibans = |after: f64| 10.0 * (odds(after) / odds(0.12)).log10();
        printed(check, decibans(bad), weight, 1);
        printed(check, decibans(good), -weight, 1);
    }
    // The same check again gives no information; an independent one would give .426.
    let again = [found("c1", "r1"), found("c1", "r1")];
    printed("twice", p(&again), 0.2414, 4);
    let mut b = NetworkBuilder::new();
    let spark = b.add("spark", ["none", "some"], &[], vec![0.12, 0.88]).expect("a table");
    for name in ["one", "other"] {
        b.add(name, ["bad", "good"], &[spark], vec![0.7, 0.3, 0.3, 0.7]).expect("a table");
    }
    let network = b.build().expect("a network");
    let both = [("one", "bad"), ("other", "bad")];
    let none = p_evidence(&network, &[("spark", "none"), both[0], both[1]]) / p_evidence(&network, &both);
    printed("two looks", none, 0.426, 3);
}
