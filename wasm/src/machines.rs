//! The machines that the page has handed over.

use std::cell::RefCell;
use std::rc::Rc;

use halfsplit::job::{Job, JobFile};
use halfsplit::machine::Machine;
use tsify::Ts;
use wasm_bindgen::prelude::*;

use crate::cross::from_page;
use crate::trouble::Thrown;

thread_local! {
    /// The machines handed over so far, checked and calibrated once each, with their texts.
    static MACHINES: RefCell<Vec<(Rc<Machine>, String)>> = const { RefCell::new(Vec::new()) };
}

/// The machine of an id.
pub(crate) fn machine(id: &str) -> Thrown<Rc<Machine>> {
    with_machine(id, |machine, _| Ok(Rc::clone(machine)))
}

/// Looks at a machine and at the text that it was read from.
pub(crate) fn with_machine<T>(id: &str, then: impl FnOnce(&Rc<Machine>, &str) -> Thrown<T>) -> Thrown<T> {
    MACHINES.with_borrow(|all| match all.iter().find(|(m, _)| m.id() == id) {
        Some((machine, text)) => then(machine, text),
        None => Err(Machine::unknown(id, all.iter().map(|(m, _)| m.id())).into()),
    })
}

/// Takes a machine description in; one of the same id is replaced.
///
/// # Errors
/// A description that breaks a rule.
#[wasm_bindgen]
pub fn load_machine(text: &str) -> Thrown<()> {
    let machine = Machine::from_json(text)?;
    MACHINES.with_borrow_mut(|all| {
        all.retain(|(m, _)| m.id() != machine.id());
        all.push((Rc::new(machine), text.to_owned()));
    });
    Ok(())
}

/// Does something with a job checked against its machine.
pub(crate) fn with_job<T>(
    job: &Ts<JobFile>,
    then: impl FnOnce(&Rc<Machine>, &JobFile, &Job) -> Thrown<T>,
) -> Thrown<T> {
    let file = from_page(job, JobFile::from_value)?;
    let machine = machine(&file.machine)?;
    then(&machine, &file, &Job::new(&machine, &file)?)
}
