//! Who may do what: one table.

use std::{fmt, str::FromStr};

/// What somebody is in the practice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, sqlx::Type)]
#[sqlx(rename_all = "lowercase")]
pub enum Role {
    Owner,
    Vet,
    Technician,
    Desk,
}

impl Role {
    pub const ALL: [Role; 4] = [Role::Owner, Role::Vet, Role::Technician, Role::Desk];

    /// The key that scripts and forms use.
    pub fn key(self) -> &'static str {
        match self {
            Role::Owner => "owner",
            Role::Vet => "vet",
            Role::Technician => "technician",
            Role::Desk => "desk",
        }
    }

    pub fn may(self, act: Act) -> bool {
        let row = RIGHTS.iter().find(|(a, _)| *a == act);
        row.is_some_and(|(_, roles)| roles.contains(&self))
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Role::Owner => "owner",
            Role::Vet => "veterinarian",
            Role::Technician => "technician",
            Role::Desk => "front desk",
        })
    }
}

impl FromStr for Role {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Role::ALL.into_iter().find(|r| r.key() == text).ok_or(())
    }
}

macro_rules! acts {
    ($($(#[$doc:meta])* $name:ident: $($role:ident)*;)*) => {
        /// Something that not everybody may do.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum Act { $($(#[$doc])* $name),* }

        const RIGHTS: &[(Act, &[Role])] = &[$((Act::$name, &[$(Role::$role),*])),*];

        impl Act {
            pub const ALL: &'static [Act] = &[$(Act::$name),*];
        }

        /// The acts as types, so that a handler's signature says what it takes: `_: Can<act::Book>`.
        pub mod act {
            /// An act as a type.
            pub trait Named: Send + Sync + 'static {
                const ACT: super::Act;
            }
            $(
                #[derive(Debug)]
                pub struct $name;
                impl Named for $name {
                    const ACT: super::Act = super::Act::$name;
                }
            )*
        }
    };
}

acts! {
    /// The day, its visits and what the caller said.
    SeeDay: Owner Vet Technician Desk;
    /// Book, move, cancel, mark as arrived.
    Book: Owner Vet Technician Desk;
    SeeClients: Owner Vet Technician Desk;
    EditClients: Owner Vet Technician Desk;
    /// Horses: who they are, where they stand, who belongs to them.
    EditHorses: Owner Vet Technician Desk;
    FollowUp: Owner Vet Technician Desk;
    /// What was found: exams, history, reports.
    SeeRecord: Owner Vet Technician;
    /// Begin a visit and record what is seen.
    Examine: Vet Technician;
    /// Assessment, plan, signature, addendum, hand-over, moving an exam to the right horse.
    Sign: Vet;
    /// Let a horse go home after a bone scan, as an officer whom the practice has named.
    Release: Owner Vet Technician;
    /// What a visit is charged, from the proposal to the line that is kept.
    Charge: Owner Vet Desk;
    /// Charges on their way to whoever keeps the accounts.
    HandCharges: Owner Desk;
    /// Staff, units, settings.
    RunPractice: Owner;
}
