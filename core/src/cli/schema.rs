//! JSON Schemas of the authored files, derived from the types that read them.

use clap::ValueEnum;
use halfsplit::job::JobFile;
use halfsplit::machine::family::{BlockFile, FamilyFile};
use halfsplit::machine::file::MachineFile;
use schemars::{Schema, schema_for};

/// A kind of file that people write.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(crate) enum Form {
    /// A whole machine in one file.
    Machine,
    /// A kind of machine, made of blocks.
    Family,
    /// What several machines share.
    Block,
    /// A job.
    Job,
}

impl Form {
    pub(crate) fn schema(self) -> Schema {
        match self {
            Form::Machine => schema_for!(MachineFile),
            Form::Family => schema_for!(FamilyFile),
            Form::Block => schema_for!(BlockFile),
            Form::Job => schema_for!(JobFile),
        }
    }
}
