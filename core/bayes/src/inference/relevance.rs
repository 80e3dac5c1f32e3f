//! The part of a network that a query depends on.

use super::Evidence;
use super::factor::is_normalised;
use crate::network::{Cpt, Network, VarId};

/// By variable: whether the joint distribution of the query variables and the evidence depends on its table.
/// A variable that is not queried and has no evidence on it or its descendants sums to 1 (a barren node:
/// Shachter 1986, "Evaluating influence diagrams"). It is not requisite, unless its rows do not sum to
/// exactly 1.
pub(super) fn requisite(network: &Network, evidence: &Evidence, asked: &[VarId]) -> Vec<bool> {
    let mut requisite = vec![false; network.len()];
    let stays = |var: &VarId| match network.variable(*var).cpt() {
        Cpt::Table(table) => {
            let rows = table.rows();
            !rows.into_iter().all(|row| is_normalised(row.iter()))
        }
        Cpt::NoisyMax(_) => false,
    };
    let found = evidence.iter().map(|(var, _)| var);
    let mut open: Vec<VarId> = network.iter().map(|(var, _)| var).filter(stays).collect();
    open.extend(asked.iter().copied().chain(found));
    while let Some(var) = open.pop() {
        if !std::mem::replace(&mut requisite[var.index()], true) {
            open.extend(network.variable(var).parents());
        }
    }
    requisite
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::NetworkBuilder;

    fn coins() -> NetworkBuilder {
        // a -> b -> c, a -> d, e -> c
        let mut builder = NetworkBuilder::new();
        let coin = || vec![0.5, 0.5];
        let two = || [0.9, 0.1, 0.2, 0.8].to_vec();
        let a = builder.add("a", ["n", "y"], &[], coin()).unwrap();
        let b = builder.add("b", ["n", "y"], &[a], two()).unwrap();
        let e = builder.add("e", ["n", "y"], &[], coin()).unwrap();
        builder.add("c", ["n", "y"], &[b, e], [two(), two()].concat()).unwrap();
        builder.add("d", ["n", "y"], &[a], two()).unwrap();
        builder
    }

    #[test]
    fn barren_nodes_are_not_requisite() {
        let network = coins().build().unwrap();
        let [_, b, _, c, d] = [0, 1, 2, 3, 4].map(VarId::new);
        assert_eq!(requisite(&network, &Evidence::new(), &[d]), [true, false, false, false, true]);
        let mut evidence = Evidence::new();
        evidence.observe(&network, b, "y").unwrap();
        assert_eq!(requisite(&network, &evidence, &[d]), [true, true, false, false, true]);
        assert_eq!(requisite(&network, &evidence, &[c]), [true, true, true, true, false]);
    }

    #[test]
    fn rows_that_do_not_sum_to_one_are_requisite() {
        let mut builder = coins();
        let [b, e] = [1, 2].map(VarId::new);
        builder.add("f", ["n", "y"], &[b], vec![0.9, 0.1, 0.2, 0.8 - 1e-10]).unwrap();
        let network = builder.build().unwrap();
        assert_eq!(requisite(&network, &Evidence::new(), &[e]), [true, true, true, false, false, true]);
    }
}
