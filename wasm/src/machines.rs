//! The machines that the page has loaded.

use std::cell::RefCell;
use std::rc::Rc;

use halfsplit::machine::Machine;
use wasm_bindgen::prelude::*;

use crate::trouble::Thrown;

thread_local! {
    /// The machines loaded so far, each checked and calibrated once, with its text.
    static MACHINES: RefCell<Vec<(Rc<Machine>, String)>> = const { RefCell::new(Vec::new()) };
}

/// The machine with an id.
pub(crate) fn machine(id: &str) -> Thrown<Rc<Machine>> {
    with_machine(id, |machine, _| Ok(Rc::clone(machine)))
}

/// Calls a function with a machine and the text that it was read from.
pub(crate) fn with_machine<T>(id: &str, then: impl FnOnce(&Rc<Machine>, &str) -> Thrown<T>) -> Thrown<T> {
    MACHINES.with_borrow(|all| match all.iter().find(|(m, _)| m.id() == id) {
        Some((machine, text)) => then(machine, text),
        None => Err(Machine::unknown(id, all.iter().map(|(m, _)| m.id())).into()),
    })
}

/// Adds a machine description. It replaces a description with the same id.
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
