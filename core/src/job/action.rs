use crate::machine::{BypassId, CheckId, RepairId};

/// Something that can be done to a machine, its result still unknown.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Action {
    /// An observation.
    Check(CheckId),
    /// A start attempt with these bypasses in place, in ascending order; a plain attempt has none.
    Attempt(Vec<BypassId>),
    /// A repair.
    Repair(RepairId),
}

impl Action {
    /// A start attempt without any bypass.
    pub const PLAIN_ATTEMPT: Action = Action::Attempt(Vec::new());

    /// A start attempt with these bypasses, in any order.
    #[must_use]
    pub fn attempt(mut bypasses: Vec<BypassId>) -> Self {
        bypasses.sort_unstable();
        bypasses.dedup();
        Action::Attempt(bypasses)
    }

    /// The bypasses of an attempt; none for other actions.
    pub(crate) fn bypasses(&self) -> &[BypassId] {
        match self {
            Action::Attempt(bypasses) => bypasses,
            Action::Check(_) | Action::Repair(_) => &[],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_order_and_number_of_equal_bypasses_do_not_matter() {
        let [first, second] = [0, 1].map(BypassId::new);
        let sorted = Action::Attempt(vec![first, second]);
        assert_eq!(Action::attempt(vec![second, first, second]), sorted);
        assert_eq!(Action::attempt(Vec::new()), Action::PLAIN_ATTEMPT);
    }
}
