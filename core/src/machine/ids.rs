//! Ids of the things in a machine: places in its lists, checked when the machine is made.

macro_rules! ids {
    ($($(#[$meta:meta])* $name:ident),* $(,)?) => {$(
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(u32);

        impl $name {
            pub(crate) fn new(index: usize) -> Self {
                $name(u32::try_from(index).unwrap_or(u32::MAX))
            }

            /// Its place in the machine's list.
            #[must_use]
            pub fn index(self) -> usize {
                self.0 as usize
            }
        }

        impl From<usize> for $name {
            fn from(index: usize) -> Self {
                $name::new(index)
            }
        }

        impl From<$name> for usize {
            fn from(id: $name) -> Self {
                id.index()
            }
        }
    )*};
}

ids! {
    /// A context of a machine.
    ContextId,
    /// A part of a machine.
    PartId,
    /// A condition, counted over all parts of a machine.
    ConditionId,
    /// A function of a machine.
    FunctionId,
    /// A check of a machine.
    CheckId,
    /// A bypass of a machine.
    BypassId,
    /// A repair of a machine.
    RepairId,
    /// Set-up work of a machine.
    SetupId,
    /// A tool of a machine.
    ToolId,
}
