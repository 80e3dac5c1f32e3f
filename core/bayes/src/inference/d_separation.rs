//! Which variables depend on an observation, by d-separation.

use super::Evidence;
use crate::network::{Network, VarId};

/// By variable: whether it is d-connected to `from` given the evidence, so that evidence on `from` can change
/// its posterior. Computed with the Bayes-ball algorithm (Shachter 1998).
pub(super) fn d_connected(network: &Network, evidence: &Evidence, from: VarId) -> Vec<bool> {
    let count = network.len();
    let mut children: Vec<Vec<usize>> = vec![Vec::new(); count];
    for (id, variable) in network.iter() {
        variable.parents().iter().for_each(|p| children[p.index()].push(id.index()));
    }
    let known = |v: usize| evidence.get(VarId::new(v));
    // A variable with one possible state passes nothing on. Evidence below a collider connects its parents.
    let blocked: Vec<bool> =
        (0..count).map(|v| known(v).is_some_and(|l| l.iter().filter(|x| **x > 0.0).count() == 1)).collect();
    let mut open: Vec<bool> = (0..count).map(|v| known(v).is_some()).collect();
    let mut observed: Vec<usize> = (0..count).filter(|v| open[*v]).collect();
    while let Some(v) = observed.pop() {
        for parent in network.variable(VarId::new(v)).parents() {
            if !std::mem::replace(&mut open[parent.index()], true) {
                observed.push(parent.index());
            }
        }
    }
    let mut reached = vec![false; count];
    // By variable: whether the ball has come from a child, and from a parent.
    let mut visited = vec![[false; 2]; count];
    const FROM_CHILD: usize = 0;
    const FROM_PARENT: usize = 1;
    let mut balls = vec![(from.index(), FROM_CHILD)];
    // Evidence on `from` acts like a ball from a child.
    while let Some((v, side)) = balls.pop() {
        if std::mem::replace(&mut visited[v][side], true) {
            continue;
        }
        reached[v] |= !blocked[v];
        let passes = !blocked[v] || v == from.index();
        let up = if side == FROM_CHILD { passes } else { open[v] };
        if up {
            let parents = network.variable(VarId::new(v)).parents();
            balls.extend(parents.iter().map(|p| (p.index(), FROM_CHILD)));
        }
        if passes {
            balls.extend(children[v].iter().map(|c| (*c, FROM_PARENT)));
        }
    }
    reached
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::NetworkBuilder;

    #[test]
    fn evidence_below_a_collider_connects_its_parents() {
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
        assert_eq!(d_connected(&network, &Evidence::new(), e), [true, false, true, true, true]);
        let mut evidence = Evidence::new();
        evidence.set_likelihood(&network, d, vec![0.3, 0.6]).unwrap();
        assert_eq!(d_connected(&network, &evidence, e), [true, true, true, true, true]);
        evidence.observe(&network, a, "y").unwrap();
        assert_eq!(d_connected(&network, &evidence, e), [false, false, false, false, true]);
    }
}
