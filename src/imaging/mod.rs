//! Pictures from the practice's own equipment: DICOM objects come in over the network, out of a form or out of a
//! folder, are kept as they were sent, and find the order they were taken for; what finds none waits for a person.
//!
//! - [`listen`]: the address that equipment calls; [`worklist`]: what it is to take.
//! - [`take`]: an object on its way in; [`head`] and [`object`]: how its file is written and read.
//! - [`join`]: whose picture it is.

mod equipment;
mod head;
mod join;
pub mod listen;
mod object;
pub mod store;
mod take;
mod worklist;

/// How an object came.
#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::Type)]
#[sqlx(rename_all = "snake_case")]
pub enum Source {
    Network,
    Upload,
    Folder,
}

/// What tied an object to its order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::Type)]
#[sqlx(rename_all = "snake_case")]
pub enum How {
    /// The study that we minted.
    StudyUid,
    Accession,
    /// The horse, and its only open order of the kind.
    Patient,
    Person,
}
