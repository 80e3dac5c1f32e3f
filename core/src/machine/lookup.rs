//! Things of a machine: by their place in its lists, and by the ids that files use.

use super::Machine;
use super::file::{Bypass, Check, Context, Function, MachineFile, Part, Repair, Setup, Tool};
use super::ids::{BypassId, CheckId, ContextId, FunctionId, PartId, RepairId, SetupId, ToolId};
use halfsplit_bayes::support::suggest::{NoSuchId, find};

macro_rules! authored_items {
    ($($(#[$meta:meta])* $method:ident: $list:ident[$id:ident] -> $item:ident,)*) => {
        impl MachineFile {
            $(pub(crate) fn $method(&self, id: $id) -> &$item {
                &self.$list[id.index()]
            })*
        }

        impl Machine {
            $($(#[$meta])*
            #[must_use]
            pub fn $method(&self, id: $id) -> &$item {
                self.file.$method(id)
            })*
        }
    };
}

authored_items! {
    /// A context, as authored.
    context: context[ContextId] -> Context,
    /// A part, as authored.
    part: parts[PartId] -> Part,
    /// A function, as authored.
    function: functions[FunctionId] -> Function,
    /// A check, as authored.
    check: checks[CheckId] -> Check,
    /// A bypass, as authored.
    bypass: bypasses[BypassId] -> Bypass,
    /// A repair, as authored.
    repair: repairs[RepairId] -> Repair,
    /// A set-up, as authored.
    setup: setups[SetupId] -> Setup,
    /// A tool, as authored.
    tool: tools[ToolId] -> Tool,
}

impl Machine {
    /// The check with an id; `place` says where the id was written.
    ///
    /// # Errors
    /// [`NoSuchId`] with the nearest id.
    pub fn find_check(&self, place: &str, id: &str) -> Result<CheckId, NoSuchId> {
        find(place, "check", id, self.file.checks.iter().map(|c| c.id.as_str())).map(CheckId::new)
    }

    /// The repair with an id; `place` says where the id was written.
    ///
    /// # Errors
    /// [`NoSuchId`] with the nearest id.
    pub fn find_repair(&self, place: &str, id: &str) -> Result<RepairId, NoSuchId> {
        find(place, "repair", id, self.file.repairs.iter().map(|r| r.id.as_str())).map(RepairId::new)
    }

    /// The bypass with an id; `place` says where the id was written.
    ///
    /// # Errors
    /// [`NoSuchId`] with the nearest id.
    pub fn find_bypass(&self, place: &str, id: &str) -> Result<BypassId, NoSuchId> {
        find(place, "bypass", id, self.file.bypasses.iter().map(|b| b.id.as_str())).map(BypassId::new)
    }
}
