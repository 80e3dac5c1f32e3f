//! Posterior marginals: compile a network once, query it many times.
//!
//! `cargo run -p halfsplit-bayes --example posteriors`
//!
//! The network is Asia, the chest clinic of Lauritzen and Spiegelhalter 1988, "Local computations with
//! probabilities on graphical structures and their application to expert systems". A patient is short of
//! breath (dyspnoea). Smoking raises the probability of lung cancer and bronchitis, a visit to Asia that of
//! tuberculosis.

use halfsplit_bayes::{Evidence, JunctionTree, Network, NetworkBuilder, NetworkError};

const STATES: [&str; 2] = ["yes", "no"];

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let network = chest_clinic()?;
    let [asia, smoking, dyspnoea, xray] =
        ["asia", "smoking", "dyspnoea", "xray"].map(|name| network.require(name));
    let (asia, smoking, dyspnoea, xray) = (asia?, smoking?, dyspnoea?, xray?);
    let diseases = ["tuberculosis", "lung cancer", "bronchitis"];

    // Compilation is the expensive step. A workspace keeps the messages of the last query: the next one
    // recomputes only those that its new finding changes.
    let tree = JunctionTree::compile(&network)?;
    let mut work = tree.workspace();
    println!("junction tree with {} entries", tree.entries());

    // Expected values: the prior row and the row "asia, dyspnoea" are those of the paper, to its precision.
    // The other rows were computed from the paper's tables by summing the joint distribution in a separate
    // program.
    let findings = [
        (None, [0.0104, 0.055, 0.45]),
        (Some((dyspnoea, "yes")), [0.018_845, 0.102_759, 0.833_967]),
        (Some((asia, "yes")), [0.087_751, 0.099_525, 0.811_402]),
        (Some((xray, "yes")), [0.391_712, 0.444_271, 0.628_822]),
        (Some((smoking, "no")), [0.632_329, 0.126_466, 0.458_960]),
    ];
    let mut evidence = Evidence::new();
    for (finding, expected) in findings {
        if let Some((variable, state)) = finding {
            evidence.observe(&network, variable, state)?;
            println!("{} = {state}", network.variable(variable).name());
        }
        let posterior = tree.posterior_in(&mut work, &evidence)?;
        for (name, expected) in diseases.into_iter().zip(expected) {
            let p = posterior.marginal(network.require(name)?)[0];
            println!("  P({name}) = {p:.6}");
            assert!((p - expected).abs() < 1e-6);
        }
        println!("  P(findings) = {:.9}", posterior.log_p_evidence().exp());
    }

    // A joint distribution shows dependence that marginals hide: given the findings, one disease is enough.
    let (tuberculosis, cancer) = (network.require("tuberculosis")?, network.require("lung cancer")?);
    let joint = tree.joint(&evidence, &[tuberculosis, cancer])?;
    println!("P(tuberculosis and lung cancer) = {:.6}", joint[[0, 0]]);
    assert!(joint[[0, 0]] < 0.1 * joint[[0, 1]]);
    Ok(())
}

/// The network with the tables of the paper.
fn chest_clinic() -> Result<Network, NetworkError> {
    let mut builder = NetworkBuilder::new();
    let asia = builder.add("asia", STATES, &[], vec![0.01, 0.99])?;
    let tuberculosis = builder.add("tuberculosis", STATES, &[asia], vec![0.05, 0.95, 0.01, 0.99])?;
    let smoking = builder.add("smoking", STATES, &[], vec![0.5, 0.5])?;
    let cancer = builder.add("lung cancer", STATES, &[smoking], vec![0.1, 0.9, 0.01, 0.99])?;
    let bronchitis = builder.add("bronchitis", STATES, &[smoking], vec![0.6, 0.4, 0.3, 0.7])?;
    // "Yes" is state 0, so the logical "or" is the minimum.
    let either = builder
        .deterministic("tuberculosis or cancer", STATES, &[tuberculosis, cancer], |s| s[0].min(s[1]))?;
    builder.add("xray", STATES, &[either], vec![0.98, 0.02, 0.05, 0.95])?;
    let dyspnoea = vec![0.9, 0.1, 0.8, 0.2, 0.7, 0.3, 0.1, 0.9];
    builder.add("dyspnoea", STATES, &[bronchitis, either], dyspnoea)?;
    builder.build()
}

#[test]
fn the_values_of_the_paper() -> Result<(), Box<dyn std::error::Error>> {
    main()
}
