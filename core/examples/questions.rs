//! Everything that can be asked of a network, on one small enough to follow by hand.
//!
//! `cargo run -p halfsplit --example questions`
//!
//! The network is Pearl's burglary and earthquake, with the numbers of Russell and Norvig,
//! "Artificial Intelligence: A Modern Approach", figure 14.2 (second edition).

use halfsplit_bayes::{
    Evidence, JunctionTree, NetworkBuilder, TableDerivatives, derivatives, most_probable_explanations,
    predictions, smallest_conflict,
};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let states = ["no", "yes"];
    let mut b = NetworkBuilder::new();
    let burglary = b.add("burglary", states, &[], vec![0.999, 0.001])?;
    let earthquake = b.add("earthquake", states, &[], vec![0.998, 0.002])?;
    let table = vec![0.999, 0.001, 0.71, 0.29, 0.06, 0.94, 0.05, 0.95];
    let alarm = b.add("alarm", states, &[burglary, earthquake], table)?;
    let john = b.add("john calls", states, &[alarm], vec![0.95, 0.05, 0.1, 0.9])?;
    let mary = b.add("mary calls", states, &[alarm], vec![0.99, 0.01, 0.3, 0.7])?;
    let network = b.build()?;

    // Compile once, answer many times.
    let tree = JunctionTree::compile(&network)?;
    let mut evidence = Evidence::new();
    evidence.observe(&network, john, "yes")?;
    evidence.observe(&network, mary, "yes")?;
    let posterior = tree.posterior(&evidence)?;
    println!("both call: P(burglary) = {:.6}", posterior.marginal(burglary)[1]);
    println!("           P(both call) = {:.9}", posterior.log_p_evidence().exp());

    // Two causes of one alarm, together.
    let joint = tree.joint(&evidence, &[burglary, earthquake])?;
    println!("           P(burglary, no earthquake) = {:.6}", joint[[1, 0]]);

    // The likeliest stories.
    for (rank, story) in most_probable_explanations(&network, &evidence, 3)?.iter().enumerate() {
        let told: Vec<&str> = [burglary, earthquake, alarm]
            .iter()
            .map(|v| network.variable(*v).states()[story.state(*v).index()].as_str())
            .collect();
        println!(
            "story {}: burglary, earthquake, alarm = {told:?}, P = {:.3e}",
            rank + 1,
            story.log_p().exp()
        );
    }

    // How much hangs on one number.
    if let TableDerivatives::Table(by_entry) = derivatives(&network, &evidence)?.of(john) {
        println!("dP(e)/dP(john calls | no alarm) = {:.1} P(e)", by_entry[[0, 1]]);
    }

    // What Mary would change if only John had called.
    evidence.retract(mary);
    for ahead in predictions(&network, &evidence)? {
        let state = &network.variable(ahead.leaf).states()[ahead.state.index()];
        println!("john alone; mary = {state} ({:.4}): P(burglary) = {:.6}", ahead.p, ahead.roots[0].1[1]);
    }
    assert!(smallest_conflict(&network, &evidence)?.is_empty());
    Ok(())
}
