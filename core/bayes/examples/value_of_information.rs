//! Value of information: is a test worth its cost?
//!
//! `cargo run -p halfsplit-bayes --example value_of_information`
//!
//! The oil wildcatter of Raiffa 1968, "Decision Analysis", with the numbers of Shenoy 1992. A seismic test
//! shows the structure of the ground before the decision to drill. All amounts are in thousands of dollars.

use halfsplit_bayes::{Evidence, JunctionTree, NetworkBuilder, predictions};

const COST_OF_DRILLING: f64 = 70.0;
const COST_OF_TEST: f64 = 10.0;
/// By state of the well.
const REVENUE: [f64; 3] = [0.0, 120.0, 270.0];

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut builder = NetworkBuilder::new();
    let oil = builder.add("oil", ["dry", "wet", "soaking"], &[], vec![0.5, 0.3, 0.2])?;
    let table = vec![0.6, 0.3, 0.1, 0.3, 0.4, 0.3, 0.1, 0.4, 0.5];
    let structure = builder.add("structure", ["none", "open", "closed"], &[oil], table)?;
    let network = builder.build()?;

    // Without the test, drilling is worth 20 (Raiffa 1968).
    let prior = JunctionTree::compile(&network)?.posterior(&Evidence::new())?;
    let untested = best_decision(prior.marginal(oil));
    println!("without the test: {untested:.1}");
    assert!((untested - 20.0).abs() < 1e-9);

    // One call returns the probability of each test result, and the posterior of the root cause given the
    // result.
    let mut tested = 0.0;
    for outcome in predictions(&network, &Evidence::new())? {
        let (_, posterior) = &outcome.roots[0];
        let value = best_decision(posterior);
        let result = &network.variable(structure).states()[outcome.state.index()];
        println!("structure {result}: probability {:.2}, then worth {value:.1}", outcome.p);
        tested += outcome.p * value;
    }

    // The expected value of sample information is 12.5, and the best strategy is worth 22.5 (Shenoy 1992).
    println!("value of the test: {:.1}, cost {COST_OF_TEST:.1}", tested - untested);
    assert!((tested - untested - 12.5).abs() < 1e-9);
    assert!((tested - COST_OF_TEST - 22.5).abs() < 1e-9);
    Ok(())
}

/// Expected profit of the better of the two decisions, to drill or not to drill.
fn best_decision(p: &[f64]) -> f64 {
    let drilling: f64 = p.iter().zip(REVENUE).map(|(p, revenue)| p * (revenue - COST_OF_DRILLING)).sum();
    drilling.max(0.0)
}

#[test]
fn the_values_of_the_literature() -> Result<(), Box<dyn std::error::Error>> {
    main()
}
