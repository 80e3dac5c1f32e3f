//! Sensitivity: how does an answer depend on one parameter?
//!
//! `cargo run -p halfsplit-bayes --example sensitivity`
//!
//! The network is the car that will not start of Jensen and Nielsen 2007, "Bayesian Networks and Decision
//! Graphs", section 2.1.1. The question is how the probability of dirty spark plugs depends on the prior
//! probability of an empty tank.

use halfsplit_bayes::{
    Evidence, InferenceError, JunctionTree, Network, NetworkBuilder, NetworkError, ParameterDerivatives,
    derivatives,
};

/// Prior probability of an empty tank.
const EMPTY_TANK: f64 = 0.02;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let network = car(EMPTY_TANK)?;
    let (fuel, plugs, start) =
        (network.require("fuel")?, network.require("clean plugs")?, network.require("start")?);
    let mut dead = Evidence::new();
    dead.observe(&network, start, "no")?;
    let mut dead_and_dirty = dead.clone();
    dead_and_dirty.observe(&network, plugs, "no")?;

    // The book prints 0.58.
    let now = dirty_plugs(&network)?;
    println!("P(dirty plugs | does not start) = {now:.4}");
    assert!((now - 0.58).abs() < 0.005);

    // P(e) is linear in the parameter x, so P(h | e) = P(h, e) / P(e) is a quotient of two linear functions
    // (Laskey 1995; Castillo, Gutierrez and Hadi 1997). One call of `derivatives` gives the slope of each.
    // The other entry of the row is 1 - x, so the slope is a difference.
    let slope = |evidence: &Evidence| -> Result<f64, InferenceError> {
        let all = derivatives(&network, evidence)?;
        match all.of(fuel) {
            ParameterDerivatives::Table(by_entry) => Ok(by_entry[[0]] - by_entry[[1]]),
            ParameterDerivatives::NoisyMax(_) => Ok(0.0),
        }
    };
    let (slope_both, slope_dead) = (slope(&dead_and_dirty)?, slope(&dead)?);
    let sensitivity =
        |x: f64| now * (1.0 + slope_both * (x - EMPTY_TANK)) / (1.0 + slope_dead * (x - EMPTY_TANK));

    // The function holds for every value of the parameter. A network with that value says the same.
    for x in [0.0, 0.01, 0.02, 0.05, 0.1, 0.5] {
        let recomputed = dirty_plugs(&car(x)?)?;
        println!("P(empty tank) = {x:.2}: P(dirty plugs | does not start) = {:.4}", sensitivity(x));
        assert!((sensitivity(x) - recomputed).abs() < 1e-12);
    }
    Ok(())
}

/// The network with another prior probability of an empty tank.
fn car(empty_tank: f64) -> Result<Network, NetworkError> {
    let states = ["no", "yes"];
    let mut builder = NetworkBuilder::new();
    let fuel = builder.add("fuel", states, &[], vec![empty_tank, 1.0 - empty_tank])?;
    let plugs = builder.add("clean plugs", states, &[], vec![0.04, 0.96])?;
    builder.add("start", states, &[fuel, plugs], vec![1.0, 0.0, 1.0, 0.0, 0.99, 0.01, 0.01, 0.99])?;
    builder.build()
}

/// Probability of dirty spark plugs if the car does not start.
fn dirty_plugs(network: &Network) -> Result<f64, InferenceError> {
    let mut evidence = Evidence::new();
    evidence.observe(network, network.require("start")?, "no")?;
    Ok(JunctionTree::compile(network)?.posterior(&evidence)?.marginal(network.require("clean plugs")?)[0])
}

#[test]
fn the_function_agrees_with_other_networks() -> Result<(), Box<dyn std::error::Error>> {
    main()
}
