//! Building and validating a network.

use std::collections::HashMap;

use ndarray::{ArrayD, IxDyn};

use super::{Cpt, Network, NetworkError, NoisyMax, NoisyParent, VarId, Variable, for_each_configuration};
use crate::precision::ROW_SUM;

/// Maximum number of states of a variable.
const MAX_STATES: usize = 1 << 16;

/// Collects variables and tables, and validates them.
///
/// ```
/// use halfsplit_bayes::NetworkBuilder;
///
/// let mut builder = NetworkBuilder::new();
/// let fuel = builder.variable("fuel", ["no", "yes"])?;
/// let starts = builder.variable("starts", ["no", "yes"])?;
/// builder.table(fuel, &[], vec![0.02, 0.98])?;
/// // One row for each state of the parent: first fuel = no, then fuel = yes.
/// builder.table(starts, &[fuel], vec![1.0, 0.0, 0.05, 0.95])?;
/// let network = builder.build()?;
/// assert_eq!(network.variable(starts).probability(&[1], 1), 0.95);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Default)]
pub struct NetworkBuilder {
    drafts: Vec<Draft>,
    by_name: HashMap<String, VarId>,
}

#[derive(Debug)]
struct Draft {
    name: String,
    states: Vec<String>,
    table: Option<(Vec<VarId>, Values)>,
}

#[derive(Debug)]
enum Values {
    Written(Vec<f64>),
    NoisyMax(NoisyMax),
}

impl NetworkBuilder {
    /// Returns an empty builder.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a variable without a table and returns its id. The table may follow later, so variables can be
    /// added in any order.
    ///
    /// # Errors
    /// [`NetworkError::DuplicateVariable`] if the name is taken; [`NetworkError::States`] for no states, two
    /// states with one name, or more than 65,536 states.
    pub fn variable<S: Into<String>>(
        &mut self,
        name: impl Into<String>,
        states: impl IntoIterator<Item = S>,
    ) -> Result<VarId, NetworkError> {
        let name = name.into();
        let states: Vec<String> = states.into_iter().map(Into::into).collect();
        if states.is_empty() {
            return Err(NetworkError::States { variable: name, rule: "it has no states".into() });
        }
        if states.len() > MAX_STATES {
            let rule = format!("{} states; at most {MAX_STATES} are supported", states.len());
            return Err(NetworkError::States { variable: name, rule });
        }
        if let Some(twice) = states.iter().enumerate().find(|(i, s)| states[..*i].contains(s)) {
            let rule = format!("the state \"{}\" is listed twice", twice.1);
            return Err(NetworkError::States { variable: name, rule });
        }
        if self.by_name.contains_key(&name) {
            return Err(NetworkError::DuplicateVariable { name });
        }
        let id = VarId::new(self.drafts.len());
        self.by_name.insert(name.clone(), id);
        self.drafts.push(Draft { name, states, table: None });
        Ok(id)
    }

    /// Sets the parents and the conditional probabilities of a variable. `values` is in row-major order: the
    /// parents in the order given, the last parent faster than the first, the variable's own states fastest.
    ///
    /// # Errors
    /// [`NetworkError::DuplicateParent`]; [`NetworkError::TableLength`] for a wrong number of entries;
    /// [`NetworkError::NotAProbability`] for an entry outside [0, 1]; [`NetworkError::RowSum`] for a row that
    /// does not sum to 1 within [`ROW_SUM`].
    ///
    /// # Panics
    /// If a variable does not belong to this builder.
    pub fn table(&mut self, var: VarId, parents: &[VarId], values: Vec<f64>) -> Result<(), NetworkError> {
        let draft = &self.drafts[var.index()];
        self.no_parent_twice(var, parents)?;
        let own = draft.states.len();
        let needed = parents
            .iter()
            .try_fold(own, |n, p| n.checked_mul(self.drafts[p.index()].states.len()))
            .unwrap_or(usize::MAX);
        if values.len() != needed {
            return Err(NetworkError::TableLength {
                variable: draft.name.clone(),
                needed,
                found: values.len(),
            });
        }
        for (row, entries) in values.chunks(own).enumerate() {
            if let Some(&value) = entries.iter().find(|p| !(0.0..=1.0).contains(*p)) {
                let given = self.row_text(parents, row);
                return Err(NetworkError::NotAProbability {
                    variable: draft.name.clone(),
                    row,
                    given,
                    value,
                });
            }
            let sum: f64 = entries.iter().sum();
            if (sum - 1.0).abs() > ROW_SUM {
                let given = self.row_text(parents, row);
                return Err(NetworkError::RowSum { variable: draft.name.clone(), row, given, sum });
            }
        }
        self.drafts[var.index()].table = Some((parents.to_vec(), Values::Written(values)));
        Ok(())
    }

    fn set_noisy_max(&mut self, var: VarId, parents: Vec<VarId>, rule: NoisyMax) -> Result<(), NetworkError> {
        self.no_parent_twice(var, &parents)?;
        self.drafts[var.index()].table = Some((parents, Values::NoisyMax(rule)));
        Ok(())
    }

    fn no_parent_twice(&self, var: VarId, parents: &[VarId]) -> Result<(), NetworkError> {
        match parents.iter().enumerate().find(|(i, p)| parents[..*i].contains(p)) {
            Some((_, parent)) => Err(NetworkError::DuplicateParent {
                variable: self.drafts[var.index()].name.clone(),
                parent: self.drafts[parent.index()].name.clone(),
            }),
            None => Ok(()),
        }
    }

    /// Adds a variable together with its table and returns its id.
    ///
    /// # Errors
    /// As for [`variable`](Self::variable) and [`table`](Self::table).
    ///
    /// # Panics
    /// If a parent does not belong to this builder.
    pub fn add<S: Into<String>>(
        &mut self,
        name: impl Into<String>,
        states: impl IntoIterator<Item = S>,
        parents: &[VarId],
        values: Vec<f64>,
    ) -> Result<VarId, NetworkError> {
        let var = self.variable(name, states)?;
        self.table(var, parents, values)?;
        Ok(var)
    }

    /// Adds a variable whose state is a function of its parents' states, and returns its id. Its table
    /// consists of zeros and ones.
    ///
    /// # Errors
    /// As for [`variable`](Self::variable). [`NetworkError::RowSum`] if the function returns a state that the
    /// variable does not have.
    ///
    /// # Panics
    /// If a parent does not belong to this builder.
    pub fn deterministic<S: Into<String>>(
        &mut self,
        name: impl Into<String>,
        states: impl IntoIterator<Item = S>,
        parents: &[VarId],
        function: impl Fn(&[usize]) -> usize,
    ) -> Result<VarId, NetworkError> {
        let var = self.variable(name, states)?;
        let own = self.cardinality(var);
        let cards: Vec<usize> = parents.iter().map(|p| self.cardinality(*p)).collect();
        let mut values = Vec::new();
        for_each_configuration(&cards, |row| {
            let state = function(row);
            values.extend((0..own).map(|s| f64::from(u8::from(s == state))));
        });
        self.table(var, parents, values)?;
        Ok(var)
    }

    /// Adds the noisy-MAX of `parents` and returns its id. `levels` are the names of its states, lowest
    /// first. Parents that never contribute are left out. Without any parents the variable is at the lowest
    /// level.
    ///
    /// ```
    /// use halfsplit_bayes::{NetworkBuilder, NoisyParent};
    ///
    /// // Noisy-OR: flu alone causes fever with probability 0.8, malaria alone with 0.9.
    /// let states = ["no", "yes"];
    /// let mut builder = NetworkBuilder::new();
    /// let mut parents = Vec::new();
    /// for (name, p) in [("flu", 0.8), ("malaria", 0.9)] {
    ///     let parent = builder.add(name, states, &[], vec![0.9, 0.1])?;
    ///     parents.push(NoisyParent { parent, levels: vec![vec![1.0, 0.0], vec![1.0 - p, p]] });
    /// }
    /// let fever = builder.noisy_max("fever", &states, &parents)?;
    /// let network = builder.build()?;
    /// // 1 - 0.2 * 0.1
    /// assert!((network.variable(fever).probability(&[1, 1], 1) - 0.98).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`NetworkError::TableLength`] for rows of the wrong number or length; [`NetworkError::RowSum`] for a
    /// row that is no distribution; [`NetworkError::DuplicateVariable`] if the name is taken;
    /// [`NetworkError::States`] and [`NetworkError::DuplicateParent`] as for [`table`](Self::table).
    ///
    /// # Panics
    /// If a parent does not belong to this builder.
    pub fn noisy_max(
        &mut self,
        name: &str,
        levels: &[&str],
        parents: &[NoisyParent],
    ) -> Result<VarId, NetworkError> {
        let count = levels.len();
        for p in parents {
            let needed = self.cardinality(p.parent) * count;
            let found = p.levels.iter().map(Vec::len).sum();
            if found != needed || p.levels.iter().any(|row| row.len() != count) {
                return Err(NetworkError::TableLength { variable: name.to_owned(), needed, found });
            }
            for (row, entries) in p.levels.iter().enumerate() {
                let sum: f64 = entries.iter().sum();
                if (sum - 1.0).abs() > ROW_SUM || entries.iter().any(|x| !(0.0..=1.0).contains(x)) {
                    let given = self.row_text(&[p.parent], row);
                    return Err(NetworkError::RowSum { variable: name.to_owned(), row, given, sum });
                }
            }
        }
        let contributing: Vec<NoisyParent> =
            parents.iter().filter(|p| !p.never_contributes()).cloned().collect();
        let var = self.variable(name, levels.iter().copied())?;
        let ids: Vec<VarId> = contributing.iter().map(|p| p.parent).collect();
        self.set_noisy_max(var, ids, NoisyMax::new(&contributing))?;
        Ok(var)
    }

    /// Number of states of a variable.
    ///
    /// # Panics
    /// If the variable does not belong to this builder.
    #[must_use]
    pub fn cardinality(&self, var: VarId) -> usize {
        self.drafts[var.index()].states.len()
    }

    /// The variable with this name.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<VarId> {
        self.by_name.get(name).copied()
    }

    /// Validates the network and returns it.
    ///
    /// # Errors
    /// [`NetworkError::NoTable`] for a variable without a table; [`NetworkError::Cycle`] for a directed
    /// cycle.
    pub fn build(self) -> Result<Network, NetworkError> {
        let cards: Vec<usize> = self.drafts.iter().map(|d| d.states.len()).collect();
        let mut variables = Vec::with_capacity(self.drafts.len());
        for Draft { name, states, table } in self.drafts {
            let Some((parents, values)) = table else {
                return Err(NetworkError::NoTable { variable: name });
            };
            let cpt = match values {
                Values::NoisyMax(rule) => Cpt::NoisyMax(rule),
                Values::Written(values) => {
                    let shape: Vec<usize> =
                        parents.iter().map(|p| cards[p.index()]).chain([states.len()]).collect();
                    let found = values.len();
                    let needed = shape.iter().product();
                    let table = ArrayD::from_shape_vec(IxDyn(&shape), values)
                        .map_err(|_| NetworkError::TableLength { variable: name.clone(), needed, found })?;
                    Cpt::Table(table)
                }
            };
            variables.push(Variable { name, states, parents, cpt });
        }
        if let Some(path) = find_cycle(&variables) {
            return Err(NetworkError::Cycle { path });
        }
        Ok(Network { variables, by_name: self.by_name })
    }

    /// The parents' states in a row, for error messages.
    fn row_text(&self, parents: &[VarId], row: usize) -> String {
        if parents.is_empty() {
            return "no parents".into();
        }
        let mut rest = row;
        let mut parts: Vec<String> = parents
            .iter()
            .rev()
            .map(|p| {
                let draft = &self.drafts[p.index()];
                let state = rest % draft.states.len();
                rest /= draft.states.len();
                format!("{} = {}", draft.name, draft.states[state])
            })
            .collect();
        parts.reverse();
        parts.join(", ")
    }
}

/// The names along a directed cycle, if there is one.
fn find_cycle(variables: &[Variable]) -> Option<String> {
    #[derive(Clone, Copy, PartialEq)]
    enum Mark {
        New,
        Open,
        Done,
    }
    let mut marks = vec![Mark::New; variables.len()];
    for start in 0..variables.len() {
        // Each variable of the path, with the number of its parents that have been followed.
        let mut path: Vec<(usize, usize)> = Vec::new();
        if marks[start] == Mark::New {
            marks[start] = Mark::Open;
            path.push((start, 0));
        }
        while let Some((at, followed)) = path.last_mut() {
            if let Some(parent) = variables[*at].parents.get(*followed) {
                *followed += 1;
                match marks[parent.index()] {
                    Mark::New => {
                        marks[parent.index()] = Mark::Open;
                        path.push((parent.index(), 0));
                    }
                    Mark::Open => {
                        let from = path.iter().position(|(v, _)| *v == parent.index()).unwrap_or(0);
                        let mut names: Vec<&str> =
                            path[from..].iter().map(|(v, _)| variables[*v].name.as_str()).collect();
                        // The path goes from child to parent; edges point the other way.
                        names.reverse();
                        names.push(names[0]);
                        return Some(names.join(" -> "));
                    }
                    Mark::Done => {}
                }
            } else {
                marks[*at] = Mark::Done;
                path.pop();
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn errors_name_their_place() {
        let mut b = NetworkBuilder::new();
        let a = b.variable("a", ["n", "y"]).unwrap();
        let c = b.variable("c", ["n", "y"]).unwrap();
        assert!(matches!(b.variable("a", ["x"]), Err(NetworkError::DuplicateVariable { .. })));
        assert!(matches!(b.variable("d", ["x", "x"]), Err(NetworkError::States { .. })));
        assert!(matches!(
            b.table(a, &[], vec![0.5]),
            Err(NetworkError::TableLength { needed: 2, found: 1, .. })
        ));
        assert!(matches!(b.table(a, &[], vec![0.5, 0.6]), Err(NetworkError::RowSum { .. })));
        assert!(matches!(b.table(a, &[], vec![f64::NAN, 0.6]), Err(NetworkError::NotAProbability { .. })));
        let error = b.table(c, &[a], vec![0.5, 0.5, 1.5, -0.5]).unwrap_err();
        assert_eq!(
            error.to_string(),
            "table of \"c\", row 1 (a = y): 1.5 is not a probability; entries lie in [0, 1]"
        );
        b.table(a, &[c], vec![0.5; 4]).unwrap();
        assert!(matches!(b.table(c, &[a, a], vec![0.5; 8]), Err(NetworkError::DuplicateParent { .. })));
        b.table(c, &[a], vec![0.5; 4]).unwrap();
        assert_eq!(b.build().unwrap_err().to_string(), "the network has a directed cycle: c -> a -> c");
    }
}
