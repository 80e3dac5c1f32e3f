//! Things of a machine by the ids that files use.

use super::Machine;
use super::ids::{BypassId, CheckId, RepairId};
use halfsplit_bayes::support::suggest::{NoSuchId, find};

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
