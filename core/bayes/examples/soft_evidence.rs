//! Soft evidence: reports that are not certain.
//!
//! `cargo run -p halfsplit-bayes --example soft_evidence`
//!
//! The story is from Pearl 1988, "Probabilistic Reasoning in Intelligent Systems", chapter 2: an alarm that a
//! burglary sets off, and a neighbour, Mrs Gibbon, who may or may not have heard it.

use halfsplit_bayes::{Evidence, InferenceError, JunctionTree, NetworkBuilder};

const STATES: [&str; 2] = ["no", "yes"];

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut builder = NetworkBuilder::new();
    let burglary = builder.add("burglary", STATES, &[], vec![0.9999, 0.0001])?;
    let alarm = builder.add("alarm", STATES, &[burglary], vec![0.99, 0.01, 0.05, 0.95])?;
    // The same report as a variable of the network, for comparison.
    let report = builder.add("report", STATES, &[alarm], vec![0.8, 0.2, 0.2, 0.8])?;
    let network = builder.build()?;
    let tree = JunctionTree::compile(&network)?;

    // Hard evidence: the alarm certainly sounds. Pearl computes 0.00941.
    let mut certain = Evidence::new();
    certain.observe(&network, alarm, "yes")?;
    let p_certain = tree.posterior(&certain)?.marginal(burglary)[1];
    println!("the alarm sounds: P(burglary) = {p_certain:.5}");
    assert!((p_certain - 0.009_41).abs() < 5e-6);

    // Soft evidence: Mrs Gibbon's report is four times as probable if the alarm sounds as if it does not.
    // Pearl computes 0.00037.
    let mut uncertain = Evidence::new();
    uncertain.set_likelihood(&network, alarm, vec![1.0, 4.0])?;
    let p_uncertain = tree.posterior(&uncertain)?.marginal(burglary)[1];
    println!("a report of 4 to 1: P(burglary) = {p_uncertain:.5}");
    assert!((p_uncertain - 0.000_37).abs() < 5e-6);

    // A likelihood acts like an observed child of the variable: only the ratio 4 to 1 counts.
    let mut reported = Evidence::new();
    reported.observe(&network, report, "yes")?;
    let p_reported = tree.posterior(&reported)?.marginal(burglary)[1];
    assert!((p_reported - p_uncertain).abs() < 1e-15);

    // A likelihood of zero rules a state out. A contradiction is an error that names the findings.
    reported.set_likelihood(&network, alarm, vec![0.0, 1.0])?;
    assert!((tree.posterior(&reported)?.marginal(burglary)[1] - p_certain).abs() < 1e-15);
    let given_silence = JunctionTree::compile_with_evidence(&network, &silence(&network)?)?;
    let contradiction = given_silence.posterior(&certain);
    assert!(matches!(contradiction, Err(InferenceError::Impossible { .. })));
    if let Err(error) = contradiction {
        println!("{error}");
    }
    Ok(())
}

/// The alarm does not sound.
fn silence(network: &halfsplit_bayes::Network) -> Result<Evidence, InferenceError> {
    let mut evidence = Evidence::new();
    evidence.observe(network, network.require("alarm")?, "no")?;
    Ok(evidence)
}

#[test]
fn the_values_of_the_book() -> Result<(), Box<dyn std::error::Error>> {
    main()
}
