//! The part of a job's network that a class can follow: the most likely causes, and the findings that depend
//! on them.

use std::collections::BTreeSet;

use serde::Serialize;

use super::odds_history::belief;
use crate::job::{Job, JobError, Step};
use crate::machine::model::Source;
use crate::machine::{ConditionId, PartId};
use halfsplit_bayes::support::order::descending;

/// The nodes and arrows of a drawing. Arrows point from causes to effects.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Graph {
    /// Nodes, each after the nodes from which its arrows come.
    pub nodes: Vec<Node>,
    /// Arrows.
    pub edges: Vec<Edge>,
}

/// A node of a drawing.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Node {
    /// Its short name in the drawing.
    pub id: String,
    /// The kind of node.
    pub kind: NodeKind,
    /// Name for people; empty for the node of everything that acts, and for attempts.
    pub name: String,
    /// For causes: the chance that it stopped the machine on arrival.
    pub p: Option<f64>,
    /// For findings and attempts: the place of the step, from 0.
    pub step: Option<usize>,
}

/// The kind of node.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub enum NodeKind {
    /// History, or something fitted.
    Context,
    /// A cause.
    Cause,
    /// A function of the machine.
    Function,
    /// The worst severity that acts.
    Acting,
    /// A finding of a check.
    Finding,
    /// The outcome of an attempt.
    Attempt,
}

/// An arrow.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Edge {
    /// Id of the node that it comes from.
    pub from: String,
    /// Id of the node that it goes to.
    pub to: String,
}

/// The drawing of a job with its `most` most likely causes. It leaves out findings that depend on none of
/// them, and history that raises none of them.
///
/// # Errors
/// [`JobError::Impossible`].
pub fn graph(job: &Job, most: usize) -> Result<Graph, JobError> {
    let machine = job.machine;
    let p = belief(job)?.p;
    let ids: Vec<ConditionId> = machine.condition_ids().collect();
    let likeliest: Vec<ConditionId> = descending(&p).into_iter().take(most).map(|at| ids[at]).collect();
    let mut edges: BTreeSet<Edge> = BTreeSet::new();
    let parts: BTreeSet<PartId> = likeliest.iter().map(|c| machine.part_of(*c)).collect();

    let mut nodes = Vec::new();
    for (i, context) in machine.file().context.iter().enumerate() {
        let id = format!("context {}", context.id);
        let mut raises = false;
        for cause in &likeliest {
            let parents = &machine.model.parts[machine.part_of(*cause)].parents;
            let own = &machine.condition(*cause).1.raised_by;
            let named = own.iter().any(|r| r.when.split('=').next() == Some(context.id.as_str()));
            if named && parents.iter().any(|s| matches!(s, Source::Context(b) if b.index() == i)) {
                edges.insert(Edge { from: id.clone(), to: cause_id(job, *cause) });
                raises = true;
            }
        }
        if raises {
            nodes.push(node(id, NodeKind::Context, &context.name));
        }
    }
    for cause in &likeliest {
        let name = &machine.condition(*cause).1.name;
        let p = Some(p[cause.index()]);
        nodes.push(Node { p, ..node(cause_id(job, *cause), NodeKind::Cause, name) });
    }
    let acting = "acting";
    for cause in &likeliest {
        edges.insert(Edge { from: cause_id(job, *cause), to: acting.into() });
    }
    nodes.push(node(acting.into(), NodeKind::Acting, ""));
    let mut leaves = Vec::new();
    for (place, step) in job.steps.iter().enumerate() {
        let id = format!("step {place}");
        match step {
            Step::Repair { .. } => {}
            Step::Attempt { .. } => {
                edges.insert(Edge { from: acting.into(), to: id.clone() });
                leaves.push(Node { step: Some(place), ..node(id, NodeKind::Attempt, "") });
            }
            Step::Check { check, .. } => {
                let sources = &machine.model.checks[*check].observation.parents;
                let from: Vec<String> = sources
                    .iter()
                    .filter_map(|s| source_id(job, *s, &likeliest, &parts, &mut nodes, &mut edges))
                    .collect();
                if from.is_empty() {
                    continue;
                }
                edges.extend(from.into_iter().map(|from| Edge { from, to: id.clone() }));
                let name = &machine.check(*check).name;
                leaves.push(Node { step: Some(place), ..node(id, NodeKind::Finding, name) });
            }
        }
    }
    nodes.extend(leaves);
    Ok(Graph { nodes, edges: edges.into_iter().collect() })
}

fn node(id: String, kind: NodeKind, name: &str) -> Node {
    Node { id, kind, name: name.to_owned(), p: None, step: None }
}

fn cause_id(job: &Job, cause: ConditionId) -> String {
    let (part, condition) = job.machine.condition(cause);
    format!("cause {}/{}", part.id, condition.id)
}

/// Id of the node for a parent of a check; none if nothing in the drawing affects it. Adds the node of a
/// function when it is first needed.
fn source_id(
    job: &Job,
    source: Source,
    likeliest: &[ConditionId],
    parts: &BTreeSet<PartId>,
    nodes: &mut Vec<Node>,
    edges: &mut BTreeSet<Edge>,
) -> Option<String> {
    let machine = job.machine;
    match source {
        Source::Context(b) => {
            let id = format!("context {}", machine.context(b).id);
            nodes.iter().any(|n| n.id == id).then_some(id)
        }
        // The most likely condition of a part represents the part.
        Source::Part(p) => likeliest.iter().find(|c| machine.part_of(**c) == p).map(|c| cause_id(job, *c)),
        Source::Function(f) => {
            let function = machine.function(f);
            let id = format!("function {}", function.id);
            let spoilers = &machine.model.functions[f].spoilers;
            let own: Vec<ConditionId> = likeliest
                .iter()
                .copied()
                .filter(|c| {
                    let part = machine.part_of(*c);
                    parts.contains(&part) && spoilers.iter().any(|(p, _)| *p == part)
                })
                .collect();
            if own.is_empty() {
                return None;
            }
            if !nodes.iter().any(|n| n.id == id) {
                nodes.push(node(id.clone(), NodeKind::Function, &function.name));
                edges.extend(own.into_iter().map(|c| Edge { from: cause_id(job, c), to: id.clone() }));
            }
            Some(id)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::JobFile;
    use crate::lesson::mower;

    #[test]
    fn every_arrow_joins_two_nodes_and_goes_forward() {
        let file = JobFile::demo().expect("the demo job is valid");
        let job = Job::new(mower(), &file).expect("valid");
        let graph = graph(&job, 6).expect("possible");
        let place = |id: &str| graph.nodes.iter().position(|n| n.id == id).expect("a node of the drawing");
        assert!(!graph.edges.is_empty());
        for edge in &graph.edges {
            assert!(place(&edge.from) < place(&edge.to), "{edge:?}");
        }
        assert_eq!(graph.nodes.iter().filter(|n| n.kind == NodeKind::Cause).count(), 6);
        assert_eq!(graph.nodes.iter().filter(|n| n.kind == NodeKind::Attempt).count(), 4);
        let spark = place("step 11");
        assert_eq!(graph.nodes[spark].kind, NodeKind::Finding);
        assert!(
            graph.edges.contains(&Edge { from: "function spark".into(), to: "step 11".into() }),
            "{graph:?}"
        );
    }

    #[test]
    fn a_drawing_without_causes_shows_attempts_only() {
        let file = JobFile::demo().expect("the demo job is valid");
        let job = Job::new(mower(), &file).expect("valid");
        let graph = graph(&job, 0).expect("possible");
        assert!(graph.nodes.iter().all(|n| matches!(n.kind, NodeKind::Acting | NodeKind::Attempt)));
    }
}
