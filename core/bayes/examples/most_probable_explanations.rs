//! Most probable explanations: the complete configurations that fit the findings best.
//!
//! `cargo run -p halfsplit-bayes --example most_probable_explanations`
//!
//! The network is Pearl's burglary and earthquake, with the numbers of Russell and Norvig, "Artificial
//! Intelligence: A Modern Approach", figure 14.2 (second edition). Both neighbours have called about the
//! alarm.

use halfsplit_bayes::{Evidence, JunctionTree, NetworkBuilder, VarId, most_probable_explanations};

const STATES: [&str; 2] = ["no", "yes"];

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut builder = NetworkBuilder::new();
    let burglary = builder.add("burglary", STATES, &[], vec![0.999, 0.001])?;
    let earthquake = builder.add("earthquake", STATES, &[], vec![0.998, 0.002])?;
    let table = vec![0.999, 0.001, 0.71, 0.29, 0.06, 0.94, 0.05, 0.95];
    let alarm = builder.add("alarm", STATES, &[burglary, earthquake], table)?;
    let john = builder.add("John calls", STATES, &[alarm], vec![0.95, 0.05, 0.1, 0.9])?;
    let mary = builder.add("Mary calls", STATES, &[alarm], vec![0.99, 0.01, 0.3, 0.7])?;
    let network = builder.build()?;
    let mut evidence = Evidence::new();
    evidence.observe(&network, john, "yes")?;
    evidence.observe(&network, mary, "yes")?;

    // The joint probability of the first, a false alarm, is printed in the book: 0.00063. The others are
    // products of table entries: 0.001 * 0.998 * 0.94 * 0.9 * 0.7, and 0.999 * 0.998 * 0.999 * 0.05 * 0.01.
    let expected = [
        (["no", "no", "yes"], 0.000_628),
        (["yes", "no", "yes"], 0.000_591),
        (["no", "no", "no"], 0.000_498),
    ];
    let explanations = most_probable_explanations(&network, &evidence, expected.len())?;
    let p_evidence = JunctionTree::compile(&network)?.posterior(&evidence)?.log_p_evidence().exp();
    for (explanation, (states, p)) in explanations.iter().zip(expected) {
        let state_of = |var: VarId| network.variable(var).states()[explanation.state(var).index()].as_str();
        let found = [burglary, earthquake, alarm].map(state_of);
        let joint = explanation.log_p().exp();
        println!("burglary, earthquake, alarm = {found:?}: {:.3} of all cases", joint / p_evidence);
        assert_eq!(found, states);
        assert!((joint - p).abs() < 5e-7);
    }
    Ok(())
}

#[test]
fn the_false_alarm_comes_first() -> Result<(), Box<dyn std::error::Error>> {
    main()
}
