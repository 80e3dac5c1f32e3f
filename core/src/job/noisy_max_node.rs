//! Noisy-MAX nodes over parts that change during a job.
//!
//! A function of the machine and the worst severity of a class of conditions have the same form: a noisy-MAX
//! over parts. The job observes such a node again and again, while repairs change some of the parts. The
//! construction relies on two properties.
//!
//! **Persistence.** The contribution of a part is drawn once. A coil that gave a weak spark gives a weak
//! spark again. A filter that did not stop the engine does not stop it at the next attempt.
//!
//! **Telescoping.** The value now is the maximum over all parts as they are. The value before a repair is the
//! maximum of that value and the earlier contributions of the parts that the repair changed. A part that the
//! repair left as it was still makes the same contribution. So the values before and after a repair differ by
//! one small node, however many parts there are.
//!
//! Neither property holds for a part that a step may cause to contribute (pulling floods the cylinder). Such
//! a part is *in flux*. It is a separate parent beside the maximum over all other parts, and its contribution
//! is drawn again when a step changes its state.

use super::JobError;
use super::builder::{Acting, JobNetworkBuilder, NoisyMaxNode, OUTCOMES, SEVERITIES};
use crate::machine::model::Role;
use crate::machine::{BypassId, PartId};
use halfsplit_bayes::{NoisyParent, VarId, for_each_configuration};

impl JobNetworkBuilder<'_, '_> {
    /// The value of a node before a step, or now (one past the last step).
    pub(super) fn pool(&mut self, pool: NoisyMaxNode, time: usize) -> Result<VarId, JobError> {
        let (flux, steady): (Vec<PartId>, Vec<PartId>) =
            self.pushing_parts(pool).into_iter().partition(|p| self.in_flux(pool, *p));
        let steady = self.steady_pool(pool, &steady, time)?;
        if flux.is_empty() {
            return Ok(steady);
        }
        let mut vars = vec![steady];
        vars.extend(flux.iter().map(|p| self.variables.at_step(*p, time)));
        if let Some(var) = self.pools.get(&(pool, vars.clone())) {
            return Ok(*var);
        }
        let mut pushes = vec![NoisyParent::fixed(steady, &identity(self.levels(pool)), self.levels(pool))];
        for (part, var) in flux.iter().zip(&vars[1..]) {
            pushes.push(self.push_in_flux(pool, *part, *var)?);
        }
        let names = self.level_names(pool);
        let levels: Vec<&str> = names.iter().map(String::as_str).collect();
        let name = self.name(&format!("{pool:?} in flux"));
        let var = self.builder.noisy_max(&name, &levels, &pushes)?;
        self.pools.insert((pool, vars), var);
        Ok(var)
    }

    /// Whether a step may give a part a contribution to a node that the part did not make before.
    fn in_flux(&self, pool: NoisyMaxNode, part: PartId) -> bool {
        let put_into = &self.put_into[part];
        if put_into.is_empty() {
            return false;
        }
        let rows = self.rows(pool, part);
        put_into.iter().any(|state| rows[*state][0] < 1.0)
    }

    /// The contribution of a version of a part in flux. If the step left the state as it was, it is the
    /// contribution of the version before; otherwise it is a new draw.
    fn push_in_flux(
        &mut self,
        pool: NoisyMaxNode,
        part: PartId,
        version: VarId,
    ) -> Result<NoisyParent, JobError> {
        let rows = self.rows(pool, part);
        if rows.iter().all(|row| row.contains(&1.0)) {
            return Ok(NoisyParent { parent: version, levels: rows });
        }
        let count = self.levels(pool);
        let levels: Vec<String> = (0..count).map(|l| l.to_string()).collect();
        let versions = self.variables.versions(part).to_vec();
        let upto = versions.iter().position(|v| *v == version).unwrap_or(0);
        let mut before: Option<(VarId, VarId)> = None;
        for var in &versions[..=upto] {
            let pushed = match (self.pushed.get(&(pool, *var)), before) {
                (Some(pushed), _) => *pushed,
                (None, None) => {
                    let name = self.name(&format!("push of {pool:?}"));
                    self.builder.add(name, levels.clone(), &[*var], rows.concat())?
                }
                (None, Some((earlier, pushed))) => {
                    let name = self.name(&format!("push of {pool:?}"));
                    let mut table = Vec::new();
                    for_each_configuration(&[rows.len(), rows.len(), count], |row| match row {
                        [then, now, level] if then == now => {
                            table.extend((0..count).map(|l| f64::from(u8::from(l == *level))));
                        }
                        [_, now, _] => table.extend(&rows[*now]),
                        _ => {}
                    });
                    self.builder.add(name, levels.clone(), &[earlier, *var, pushed], table)?
                }
            };
            self.pushed.insert((pool, *var), pushed);
            before = Some((*var, pushed));
        }
        let pushed = before.map_or(version, |(_, pushed)| pushed);
        Ok(NoisyParent::fixed(pushed, &identity(count), count))
    }

    /// The value of a node over its steady parts: no step causes one of them to contribute.
    fn steady_pool(&mut self, pool: NoisyMaxNode, parts: &[PartId], time: usize) -> Result<VarId, JobError> {
        let at = |build: &Self, time: usize| -> Vec<VarId> {
            parts.iter().map(|p| build.variables.at_step(*p, time)).collect()
        };
        let vars = at(self, time);
        if let Some(var) = self.pools.get(&(pool, vars.clone())) {
            return Ok(*var);
        }
        let later = (time + 1..=self.variables.end()).find(|t| at(self, *t) != vars);
        if let (None, NoisyMaxNode::Class(class), true) = (later, pool, self.acting.is_some()) {
            return self.acting_now(class, parts, vars);
        }
        let mut pushes = Vec::new();
        match later {
            None => {
                for (part, var) in parts.iter().zip(&vars) {
                    pushes.push(NoisyParent { parent: *var, levels: self.rows(pool, *part) });
                }
            }
            Some(later) => {
                let after = self.steady_pool(pool, parts, later)?;
                pushes.push(NoisyParent::fixed(after, &identity(self.levels(pool)), self.levels(pool)));
                for ((part, var), then) in parts.iter().zip(&vars).zip(at(self, later)) {
                    if *var != then {
                        pushes.push(self.push_until(pool, *part, *var, then)?);
                    }
                }
            }
        }
        let names = self.level_names(pool);
        let levels: Vec<&str> = names.iter().map(String::as_str).collect();
        let name = self.name(&format!("{pool:?}"));
        let var = self.builder.noisy_max(&name, &levels, &pushes)?;
        self.pools.insert((pool, vars), var);
        Ok(var)
    }

    /// The severity of a class now, if evidence sets it: a variable with a uniform prior and without parents.
    fn acting_now(&mut self, class: usize, parts: &[PartId], vars: Vec<VarId>) -> Result<VarId, JobError> {
        let count = SEVERITIES.len();
        let var =
            self.builder.add(format!("acting {class}"), SEVERITIES, &[], vec![1.0 / count as f64; count])?;
        let machine = self.job.machine;
        let conditions = self.classes[class].conditions.iter().copied();
        let conditions = conditions.filter(|c| parts.contains(&machine.part_of(*c))).collect();
        self.acting.get_or_insert_default().push(Acting { var, conditions });
        self.pools.insert((NoisyMaxNode::Class(class), vars), var);
        Ok(var)
    }

    /// The contribution of a version of a part that the next version does not make. If the step changed the
    /// state, this is the whole contribution. Otherwise it is none, because the next version makes the same
    /// contribution.
    fn push_until(
        &mut self,
        pool: NoisyMaxNode,
        part: PartId,
        version: VarId,
        next: VarId,
    ) -> Result<NoisyParent, JobError> {
        let rows = self.rows(pool, part);
        let count = self.levels(pool);
        let pushed = match self.pushed.get(&(pool, version)) {
            Some(var) => *var,
            None => {
                let mut table = Vec::new();
                for_each_configuration(&[rows.len(), rows.len(), count], |row| match row {
                    [before, after, level] if before == after => table.push(f64::from(u8::from(*level == 0))),
                    [before, _, level] => table.push(rows[*before][*level]),
                    _ => {}
                });
                let name = self.name(&format!("push of {pool:?}"));
                let levels: Vec<String> = (0..count).map(|l| l.to_string()).collect();
                let var = self.builder.add(name, levels, &[version, next], table)?;
                self.pushed.insert((pool, version), var);
                var
            }
        };
        Ok(NoisyParent::fixed(pushed, &identity(count), count))
    }

    /// By state of a part: the distribution of its contribution to a node.
    fn rows(&self, pool: NoisyMaxNode, part: PartId) -> Vec<Vec<f64>> {
        let model = &self.job.machine.model;
        let states = &model.parts[part].states;
        match pool {
            NoisyMaxNode::Function(f) => {
                let spoilers = &model.functions[f].spoilers;
                let own = spoilers.iter().find(|(p, _)| *p == part);
                own.map_or_else(Vec::new, |(_, rows)| rows.clone())
            }
            NoisyMaxNode::Class(class) => states
                .iter()
                .map(|s| match s.condition() {
                    Some(c) if s.acts() && self.classes[class].conditions.contains(&c) => {
                        model.conditions[c].severity.to_vec()
                    }
                    _ => vec![1.0, 0.0, 0.0, 0.0],
                })
                .collect(),
        }
    }

    /// Parts that can contribute to a node.
    fn pushing_parts(&self, pool: NoisyMaxNode) -> Vec<PartId> {
        let model = &self.job.machine.model;
        match pool {
            NoisyMaxNode::Function(f) => model.functions[f].spoilers.iter().map(|(p, _)| *p).collect(),
            NoisyMaxNode::Class(class) => {
                let conditions = &self.classes[class].conditions;
                let mut parts: Vec<PartId> =
                    conditions.iter().map(|c| self.job.machine.part_of(*c)).collect();
                parts.sort_unstable();
                parts.dedup();
                parts
            }
        }
    }

    fn levels(&self, pool: NoisyMaxNode) -> usize {
        match pool {
            NoisyMaxNode::Function(f) => self.job.machine.model.functions[f].level_names.len(),
            NoisyMaxNode::Class(_) => SEVERITIES.len(),
        }
    }

    fn level_names(&self, pool: NoisyMaxNode) -> Vec<String> {
        match pool {
            NoisyMaxNode::Function(f) => self.job.machine.model.functions[f].level_names.clone(),
            NoisyMaxNode::Class(_) => SEVERITIES.map(str::to_owned).to_vec(),
        }
    }

    /// The worst severity among some classes at a time.
    pub(super) fn worst(&mut self, classes: &[usize], time: usize) -> Result<VarId, JobError> {
        let of = classes
            .iter()
            .map(|c| self.pool(NoisyMaxNode::Class(*c), time))
            .collect::<Result<Vec<_>, _>>()?;
        if let [only] = of.as_slice() {
            return Ok(*only);
        }
        if let Some(var) = self.maxima.get(&of) {
            return Ok(*var);
        }
        let count = SEVERITIES.len();
        let parents: Vec<NoisyParent> =
            of.iter().map(|v| NoisyParent::fixed(*v, &identity(count), count)).collect();
        let name = self.name("worst of all that act");
        let var = self.builder.noisy_max(&name, &SEVERITIES, &parents)?;
        self.maxima.insert(of, var);
        Ok(var)
    }

    /// A leaf for the outcome of an attempt before a step.
    pub(super) fn outcome(&mut self, bypasses: &[BypassId], time: usize) -> Result<VarId, JobError> {
        let model = &self.job.machine.model;
        // All conditions of a class have the same role.
        let role = |class: usize| {
            let first = self.classes[class].conditions.first();
            first.map_or(Role::Acts, |c| model.role(bypasses, *c))
        };
        let roles: Vec<Role> = (0..self.classes.len()).map(role).collect();
        let with = |wanted: Role| -> Vec<usize> {
            roles.iter().enumerate().filter(|(_, r)| **r == wanted).map(|(class, _)| class).collect()
        };
        let lift_law = model.lift_law(bypasses);
        let mut apart: Vec<(BypassId, usize)> = Vec::new();
        for role in &roles {
            if let Role::Apart(bypass, group) = role
                && !apart.contains(&(*bypass, *group))
            {
                apart.push((*bypass, *group));
            }
        }
        let mut parents = vec![self.worst(&with(Role::Acts), time)?];
        if lift_law.is_some() {
            parents.push(self.worst(&with(Role::Lifted), time)?);
        }
        let first_apart = parents.len();
        for (bypass, group) in &apart {
            parents.push(self.worst(&with(Role::Apart(*bypass, *group)), time)?);
        }
        let mut table = Vec::new();
        for_each_configuration(&vec![SEVERITIES.len(); parents.len()], |row| {
            let lifted = if lift_law.is_some() { row[1] } else { 0 };
            let groups = apart.iter().zip(&row[first_apart..]).map(|((b, group), s)| (*b, *group, *s));
            table.extend(model.outcomes(lift_law, row[0], lifted, groups));
        });
        let name = self.name(&format!("step {}: attempt", time + 1));
        Ok(self.builder.add(name, OUTCOMES, &parents, table)?)
    }
}

fn identity(count: usize) -> Vec<usize> {
    (0..count).collect()
}
