//! Checks the networks against worked examples from the literature.
//!
//! "Published" values are printed in the source. "Recomputed" values are computed from the published inputs
//! by summing the joint distribution in Python (numpy only), independently of this program.

use halfsplit::job::Outcome;
use halfsplit_bayes::{JunctionTree, Network, NetworkBuilder, NoisyParent, VarId};
use halfsplit_tests::{
    assess_on, attempt, car_file, car_job, cause, close, evidence, found, given, machine, p, p_evidence,
    printed, repair, yes_no,
};
use serde_json::json;

/// Chest clinic: Lauritzen and Spiegelhalter 1988, "Local computations with probabilities on
/// graphical structures and their application to expert systems".
fn chest_clinic() -> Network {
    let mut b = NetworkBuilder::new();
    let asia = yes_no(&mut b, "asia", &[], &[0.01]);
    let tub = yes_no(&mut b, "tub", &[asia], &[0.05, 0.01]);
    let smoke = yes_no(&mut b, "smoke", &[], &[0.5]);
    let lung = yes_no(&mut b, "lung", &[smoke], &[0.10, 0.01]);
    let bronc = yes_no(&mut b, "bronc", &[smoke], &[0.60, 0.30]);
    let either = yes_no(&mut b, "either", &[tub, lung], &[1.0, 1.0, 1.0, 0.0]);
    yes_no(&mut b, "xray", &[either], &[0.98, 0.05]);
    yes_no(&mut b, "dysp", &[bronc, either], &[0.9, 0.8, 0.7, 0.1]);
    b.build().expect("a network")
}

#[test]
fn chest_clinic_marginals() {
    let n = chest_clinic();
    // Published: the test file of a public graphical-model library.
    printed("T", p(&n, "tub", "yes", &[]), 0.0104, 4);
    printed("L", p(&n, "lung", "yes", &[]), 0.055, 3);
    printed("B", p(&n, "bronc", "yes", &[]), 0.45, 2);
    // From memory of the paper, and recomputed.
    printed("E", p(&n, "either", "yes", &[]), 0.064_828, 6);
    printed("X", p(&n, "xray", "yes", &[]), 0.110_290, 6);
    printed("D", p(&n, "dysp", "yes", &[]), 0.435_971, 6);
    // Published: the same test file.
    printed("P(A, D)", p_evidence(&n, &[("asia", "yes"), ("dysp", "yes")]), 0.004_501_375, 9);
}

#[test]
fn chest_clinic_posteriors() {
    let n = chest_clinic();
    let (a, d, x) = (("asia", "yes"), ("dysp", "yes"), ("xray", "yes"));
    // T, L, B: the first row is from memory of the paper and recomputed; the other rows are recomputed.
    type Row<'a> = (&'a [(&'a str, &'a str)], [f64; 3]);
    let rows: [Row; 6] = [
        (&[a, d], [0.087_751, 0.099_525, 0.811_402]),
        (&[a, d, ("xray", "no")], [0.002_249, 0.002_550, 0.862_761]),
        (&[a, d, x], [0.391_712, 0.444_271, 0.628_822]),
        (&[a, d, x, ("smoke", "no")], [0.632_329, 0.126_466, 0.458_960]),
        (&[d], [0.018_845, 0.102_759, 0.833_967]),
        (&[x], [0.092_411, 0.488_711, 0.506_326]),
    ];
    for (found, expected) in rows {
        for (name, expected) in ["tub", "lung", "bronc"].into_iter().zip(expected) {
            printed(&format!("{name} given {found:?}"), p(&n, name, "yes", found), expected, 6);
        }
    }
}

#[test]
fn chest_clinic_most_probable_state() {
    // Recomputed: S=y T=n L=n B=y E=n X=n has probability 0.0019494, which is 43.3 % of the probability of
    // the evidence A=y, D=y.
    let n = chest_clinic();
    let found = [("asia", "yes"), ("dysp", "yes")];
    let rest = ["smoke", "tub", "lung", "bronc", "either", "xray"];
    let all: Vec<(f64, String)> = (0..1_u32 << rest.len())
        .filter_map(|bits| {
            let word = |i: usize| if bits >> i & 1 == 1 { "yes" } else { "no" };
            let full: Vec<(&str, &str)> =
                rest.iter().enumerate().map(|(i, name)| (*name, word(i))).chain(found).collect();
            let p = given(&n, &full).ok()?.log_p_evidence().exp();
            Some((p, (0..rest.len()).map(word).collect::<Vec<_>>().join(" ")))
        })
        .collect();
    let sum: f64 = all.iter().map(|(p, _)| p).sum();
    close("the full states add up to the evidence", sum, p_evidence(&n, &found), 1e-15);
    let best = all.iter().max_by(|a, b| a.0.total_cmp(&b.0)).expect("some state is possible");
    assert_eq!(best.1, "yes no no yes no no");
    printed("its probability", best.0, 0.001_949_4, 7);
    printed("its share", best.0 / sum, 0.433, 3);
    // The deterministic "either" excludes half of the 64 states.
    assert_eq!(all.len(), 32);
}

/// Car start: Jensen 1996, "An Introduction to Bayesian Networks"; Jensen and Nielsen 2007.
fn car_start() -> Network {
    let mut b = NetworkBuilder::new();
    let fuel = yes_no(&mut b, "fuel", &[], &[0.98]);
    let clean = yes_no(&mut b, "clean plugs", &[], &[0.96]);
    let meter = vec![0.39, 0.60, 0.01, 0.001, 0.001, 0.998];
    b.add("meter", ["full", "half", "empty"], &[fuel], meter).expect("a table");
    yes_no(&mut b, "start", &[fuel, clean], &[0.99, 0.01, 0.0, 0.0]);
    b.build().expect("a network")
}

#[test]
fn car_that_does_not_start() {
    let n = car_start();
    let dead = ("start", "no");
    // Recomputed; .29 and .58 are from memory of the source.
    printed("no start", p_evidence(&n, &[dead]), 0.068_216, 6);
    printed("no fuel", p(&n, "fuel", "no", &[dead]), 0.293_186, 6);
    printed("dirty plugs", p(&n, "clean plugs", "no", &[dead]), 0.580_626, 6);
    // Recomputed. The book prints .03965, because it sums rounded cells.
    let dirty_and_dead = p_evidence(&n, &[dead, ("clean plugs", "no")]);
    printed("dirty plugs and no start", dirty_and_dead, 0.039_608, 6);
    close("the book", dirty_and_dead, 0.039_65, 5e-5);
    // .804 and .001 are from memory; more digits are recomputed.
    let half = [dead, ("meter", "half")];
    printed("dirty, half full", p(&n, "clean plugs", "no", &half), 0.804_350, 6);
    printed("no fuel, half full", p(&n, "fuel", "no", &half), 0.000_691, 6);
    // Recomputed.
    printed("dirty, empty", p(&n, "clean plugs", "no", &[dead, ("meter", "empty")]), 0.058_041, 6);
    let neither = p_evidence(&n, &[dead, ("fuel", "yes"), ("clean plugs", "yes")]);
    printed("neither", neither / p_evidence(&n, &[dead]), 0.137_915, 6);
    let both = p_evidence(&n, &[dead, ("fuel", "no"), ("clean plugs", "no")]);
    // .02 x .04 / .068216, by hand.
    printed("both", both / p_evidence(&n, &[dead]), 0.011_727_5, 7);
}

#[test]
fn burglar_alarm() {
    // Pearl 1988; Russell and Norvig. A course page publishes the inputs.
    let mut b = NetworkBuilder::new();
    let burglary = yes_no(&mut b, "B", &[], &[0.001]);
    let quake = yes_no(&mut b, "E", &[], &[0.002]);
    let alarm = yes_no(&mut b, "A", &[burglary, quake], &[0.95, 0.94, 0.29, 0.001]);
    yes_no(&mut b, "J", &[alarm], &[0.90, 0.05]);
    yes_no(&mut b, "M", &[alarm], &[0.70, 0.01]);
    let n = b.build().expect("a network");
    // .284 is from memory of the book; more digits are recomputed.
    printed("both call", p(&n, "B", "yes", &[("J", "yes"), ("M", "yes")]), 0.284_172, 6);
    // Published on the course page.
    printed("J given B", p(&n, "J", "yes", &[("B", "yes")]), 0.849_017, 6);
    printed("M given B", p(&n, "M", "yes", &[("B", "yes")]), 0.658_614, 6);
    // Recomputed: an earthquake explains away the burglary.
    printed("B given A", p(&n, "B", "yes", &[("A", "yes")]), 0.373_551, 6);
    printed("B given A, E", p(&n, "B", "yes", &[("A", "yes"), ("E", "yes")]), 0.003_268, 6);
}

/// The fever network with inhibitors cold .6, flu .2, malaria .1 (Russell and Norvig). `links` holds the
/// link probabilities, one minus the inhibitor. The leak is a parent that is always present.
fn fever(links: [f64; 3], leak: f64) -> Network {
    let mut b = NetworkBuilder::new();
    let mut parents: Vec<NoisyParent> = ["cold", "flu", "malaria"]
        .into_iter()
        .zip(links)
        .map(|(name, link)| {
            let parent = b.add(name, ["no", "yes"], &[], vec![0.5, 0.5]).expect("a table");
            NoisyParent { parent, levels: vec![vec![1.0, 0.0], vec![1.0 - link, link]] }
        })
        .collect();
    let always = b.add("leak", ["there"], &[], vec![1.0]).expect("a table");
    parents.push(NoisyParent { parent: always, levels: vec![vec![1.0 - leak, leak]] });
    b.noisy_max("fever", &["no", "yes"], &parents).expect("a rule");
    b.build().expect("a network")
}

fn p_fever(n: &Network, causes: &[&str]) -> f64 {
    let found: Vec<(&str, &str)> = ["cold", "flu", "malaria"]
        .into_iter()
        .map(|name| (name, if causes.contains(&name) { "yes" } else { "no" }))
        .collect();
    p(n, "fever", "yes", &found)
}

#[test]
fn noisy_or_of_fever() {
    // Published: lecture notes on Russell and Norvig's example.
    let n = fever([0.4, 0.8, 0.9], 0.0);
    let rows: [(&[&str], f64); 8] = [
        (&[], 0.0),
        (&["cold"], 0.4),
        (&["flu"], 0.8),
        (&["malaria"], 0.9),
        (&["cold", "flu"], 0.88),
        (&["cold", "malaria"], 0.94),
        (&["flu", "malaria"], 0.98),
        (&["cold", "flu", "malaria"], 0.988),
    ];
    for (causes, expected) in rows {
        close(&format!("{causes:?}"), p_fever(&n, causes), expected, 1e-12);
    }
}

#[test]
fn noisy_or_with_a_leak() {
    // Recomputed with leak .05: .05 without a cause, .9886 with all causes.
    let n = fever([0.4, 0.8, 0.9], 0.05);
    close("none", p_fever(&n, &[]), 0.05, 1e-12);
    close("all", p_fever(&n, &["cold", "flu", "malaria"]), 1.0 - 0.95 * 0.012, 1e-12);
    printed("all", p_fever(&n, &["cold", "flu", "malaria"]), 0.9886, 4);
    // Diez 1993: .4 is the link probability, so cold alone gives 1 - .95 x .6.
    close("Diez", p_fever(&n, &["cold"]), 0.43, 1e-12);
    // Henrion 1989: .4 is the probability of fever given cold, leak included; the link probability is
    // 1 - .6/.95 = .368421.
    let link = 1.0 - 0.6 / 0.95;
    printed("Henrion's link", link, 0.368_421, 6);
    close("Henrion", p_fever(&fever([link, 0.8, 0.9], 0.05), &["cold"]), 0.4, 1e-12);
}

/// The car start network with a repair of the plugs and a second attempt (after the idea of Breese and
/// Heckerman 1996). `lasting` says whether the unexplained cause of the first failed start is still
/// present at the second attempt.
fn tried_twice(lasting: bool) -> Network {
    let mut b = NetworkBuilder::new();
    let fuel = yes_no(&mut b, "fuel", &[], &[0.98]);
    let clean = yes_no(&mut b, "clean plugs", &[], &[0.96]);
    let mut unexplained = |name| yes_no(&mut b, name, &[], &[0.01]);
    let first = unexplained("unexplained, first");
    let second = if lasting { first } else { unexplained("unexplained, second") };
    // The parents are fuel, clean plugs and unexplained, in this order.
    let starts = [0.0, 1.0, 0.01, 0.01, 0.0, 0.0, 0.0, 0.0];
    yes_no(&mut b, "start", &[fuel, clean, first], &starts);
    yes_no(&mut b, "start again", &[fuel, second], &[0.0, 1.0, 0.0, 0.0]);
    b.build().expect("a network")
}

/// Recomputed from the numbers of the car start problem.
const REDRAWN: f64 = 0.9765;
const LASTING: f64 = 0.6712;
const FORGOTTEN: f64 = 0.6711;

#[test]
fn repair_then_look_again() {
    let twice = [("start", "no"), ("start again", "no")];
    printed("lasting", p(&tried_twice(true), "fuel", "no", &twice), LASTING, 4);
    printed("redrawn", p(&tried_twice(false), "fuel", "no", &twice), REDRAWN, 4);
    printed("forgotten", p(&tried_twice(true), "fuel", "no", &twice[1..]), FORGOTTEN, 4);
}

#[test]
fn a_job_remembers_what_failed_before_the_repair() {
    let steps = [attempt(Outcome::Nothing), repair("new-plugs"), attempt(Outcome::Nothing)];
    let no_fuel = |file: &serde_json::Value, steps: &[halfsplit::job::StepRecord]| {
        let answer = assess_on(&machine(file), &car_job(steps)).expect("an assessment");
        cause(&answer, "fuel/out").p_cause
    };
    // Here the unexplained failure is the condition of a part, so it lasts from attempt to attempt.
    let lasting = car_file();
    printed("lasting", no_fuel(&lasting, &steps), LASTING, 4);
    // Here the unexplained failure is noise of the attempt, drawn independently each time.
    let mut redrawn = car_file();
    redrawn["parts"].as_array_mut().expect("a list").pop();
    redrawn["attempt"]["law"]["harmless"] = json!([0.99, 0, 0, 0.01]);
    printed("redrawn", no_fuel(&redrawn, &steps), REDRAWN, 4);
    // Without the first attempt, the job has no failure before the repair to remember.
    printed("forgotten", no_fuel(&lasting, &steps[1..]), FORGOTTEN, 4);
}

#[test]
fn a_repair_that_may_not_take() {
    // The same job with a repair of the plugs that succeeds 4 times in 5, computed by hand: first attempt,
    // repair, second attempt. With sound plugs, both attempts fail only through the unexplained .01.
    // With dirty plugs, the first attempt fails with probability .99. The second then fails with
    // probability .01 if the repair succeeds and .99 if it does not.
    let mut file = car_file();
    file["repairs"][1]["takes"] = json!(0.8);
    let steps = [attempt(Outcome::Nothing), repair("new-plugs"), attempt(Outcome::Nothing)];
    let answer = assess_on(&machine(&file), &car_job(&steps)).expect("an assessment");
    let dirty_twice = 0.04 * 0.99 * 0.2 * 0.99;
    let both_fail = 0.02 + 0.98 * (0.96 * 0.01 + 0.04 * 0.99 * 0.8 * 0.01 + dirty_twice);
    close("no fuel", cause(&answer, "fuel/out").p_cause, 0.02 / both_fail, 1e-12);
    let still_dirty = 0.98 * dirty_twice + 0.02 * 0.04 * 0.2;
    close("plugs", cause(&answer, "plugs/dirty").p_present, still_dirty / both_fail, 1e-12);
    let was_dirty = still_dirty + 0.98 * 0.04 * 0.99 * 0.8 * 0.01 + 0.02 * 0.04 * 0.8;
    close("plugs on arrival", cause(&answer, "plugs/dirty").p_was_present, was_dirty / both_fail, 1e-12);
}

#[test]
fn a_job_on_the_car_gives_the_answers_of_its_network() {
    // The same figures as in `car_that_does_not_start`, computed through a machine description and a job.
    let car = machine(&car_file());
    let odds =
        |steps: &[_], id: &str| cause(&assess_on(&car, &car_job(steps)).expect("an assessment"), id).p_cause;
    let dead = attempt(Outcome::Nothing);
    printed("no fuel", odds(std::slice::from_ref(&dead), "fuel/out"), 0.293_186, 6);
    printed("dirty plugs", odds(std::slice::from_ref(&dead), "plugs/dirty"), 0.580_626, 6);
    let half = [dead.clone(), found("dial", "half")];
    printed("dirty, half full", odds(&half, "plugs/dirty"), 0.804_350, 6);
    printed("no fuel, half full", odds(&half, "fuel/out"), 0.000_691, 6);
    printed("dirty, empty", odds(&[found("dial", "empty"), dead], "plugs/dirty"), 0.058_041, 6);
}

#[test]
fn the_same_questions_in_another_order_of_variables() {
    // A network is a set of variables: reversing their order must not change any answer.
    let file = chest_clinic().to_file();
    let mut backwards = file.clone();
    backwards.variables.reverse();
    let (a, b) = (Network::try_from(file), Network::try_from(backwards));
    let (a, b) = (a.expect("a network"), b.expect("a network"));
    let found = [("asia", "yes"), ("xray", "yes")];
    let tree = JunctionTree::compile(&b).expect("a tree");
    let answer = tree.posterior(&evidence(&b, &found)).expect("possible evidence");
    let there = given(&a, &found).expect("possible evidence");
    let pairs: Vec<(VarId, VarId)> =
        a.iter().map(|(id, v)| (id, b.require(v.name()).expect("the same names"))).collect();
    assert_eq!(pairs.len(), 8);
    for (x, y) in pairs {
        close(a.variable(x).name(), there.marginal(x)[0], answer.marginal(y)[0], 1e-14);
    }
}
