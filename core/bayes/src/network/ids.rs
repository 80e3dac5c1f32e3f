//! Ids of variables and states.

/// A variable of a [`Network`](crate::Network): its index in the order in which variables were added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct VarId(u32);

impl VarId {
    /// The variable with this index.
    ///
    /// # Panics
    /// If the index is 2^32 or more.
    #[must_use]
    pub fn new(index: usize) -> Self {
        VarId(u32::try_from(index).expect("an index below 2^32"))
    }

    /// Its index among the network's variables.
    #[must_use]
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// A state of a variable: its index among the variable's states.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StateId(u32);

impl StateId {
    /// The state with this index.
    ///
    /// # Panics
    /// If the index is 2^32 or more.
    #[must_use]
    pub fn new(index: usize) -> Self {
        StateId(u32::try_from(index).expect("an index below 2^32"))
    }

    /// Its index among the variable's states.
    #[must_use]
    pub fn index(self) -> usize {
        self.0 as usize
    }
}
