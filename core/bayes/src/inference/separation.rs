//! Which variables a finding can tell anything about.

use super::Evidence;
use crate::network::{Network, VarId};

/// By variable: whether a change in what is known of `from` can change its posterior, given the
/// evidence. Found by letting a ball bounce through the graph (Shachter 1998, "Bayes-ball").
pub(super) fn reached(network: &Network, evidence: &Evidence, from: VarId) -> Vec<bool> {
    let count = network.len();
    let mut children: Vec<Vec<usize>> = vec![Vec::new(); count];
    for (id, variable) in network.iter() {
        variable.parents().iter().for_each(|p| children[p.index()].push(id.index()));
    }
    let known = |v: usize| evidence.get(VarId::new(v));
    // A variable with one state left passes nothing on; any evidence opens the way between parents.
    let blocked: Vec<bool> =
        (0..count).map(|v| known(v).is_some_and(|l| l.iter().filter(|x| **x > 0.0).count() == 1)).collect();
    let mut open: Vec<bool> = (0..count).map(|v| known(v).is_some()).collect();
    let mut evident: Vec<usize> = (0..count).filter(|v| open[*v]).collect();
    while let Some(v) = evident.pop() {
        for parent in network.variable(VarId::new(v)).parents() {
            if !std::mem::replace(&mut open[parent.index()], true) {
                evident.push(parent.index());
            }
        }
    }
    let mut reached = vec![false; count];
    // By variable: whether the ball has come from below, and from above.
    let mut met = vec![[false; 2]; count];
    const BELOW: usize = 0;
    const ABOVE: usize = 1;
    let mut balls = vec![(from.index(), BELOW)];
    // What is said of a variable from outside comes from below and may go on above and below.
    while let Some((v, side)) = balls.pop() {
        if std::mem::replace(&mut met[v][side], true) {
            continue;
        }
        reached[v] |= !blocked[v];
        let passes = !blocked[v] || v == from.index();
        let up = if side == BELOW { passes } else { open[v] };
        if up {
            let parents = network.variable(VarId::new(v)).parents();
            balls.extend(parents.iter().map(|p| (p.index(), BELOW)));
        }
        if passes {
            balls.extend(children[v].iter().map(|c| (*c, ABOVE)));
        }
    }
    reached
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::NetworkBuilder;

    #[test]
    fn the_collider_opens_with_what_is_below_it() {
        // a -> c <- b, c -> d, a -> e
        let mut b = NetworkBuilder::new();
        let coin = || vec![0.5, 0.5];
        let two = || [0.9, 0.1, 0.2, 0.8];
        let a = b.add("a", ["n", "y"], &[], coin()).unwrap();
        let bb = b.add("b", ["n", "y"], &[], coin()).unwrap();
        let c = b.add("c", ["n", "y"], &[a, bb], [two(), two()].concat()).unwrap();
        let d = b.add("d", ["n", "y"], &[c], two().to_vec()).unwrap();
        let e = b.add("e", ["n", "y"], &[a], two().to_vec()).unwrap();
        let network = b.build().unwrap();
        assert_eq!(reached(&network, &Evidence::new(), e), [true, false, true, true, true]);
        let mut evidence = Evidence::new();
        evidence.likelihood(&network, d, vec![0.3, 0.6]).unwrap();
        assert_eq!(reached(&network, &evidence, e), [true, true, true, true, true]);
        evidence.observe(&network, a, "y").unwrap();
        assert_eq!(reached(&network, &evidence, e), [false, false, false, false, true]);
    }
}
