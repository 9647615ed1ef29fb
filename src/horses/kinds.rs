//! The few words that say what a horse is and what people are to it, as they are kept and sent.

use std::{fmt, str::FromStr};

/// An enum whose words are one list: kept in the database, sent by forms, shown on pages.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$about:meta])* $one:ident $key:literal $shown:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, sqlx::Type)]
        #[sqlx(rename_all = "lowercase")]
        pub enum $name { $($(#[$about])* $one),+ }

        impl $name {
            /// What a form sends and what it says, in order.
            pub const CHOICES: &[(&'static str, &'static str)] = &[$(($key, $shown)),+];

            pub fn key(self) -> &'static str {
                match self { $(Self::$one => $key),+ }
            }
        }

        impl FromStr for $name {
            type Err = ();
            fn from_str(text: &str) -> Result<Self, ()> {
                match text { $($key => Ok(Self::$one),)+ _ => Err(()) }
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(match self { $(Self::$one => $shown),+ })
            }
        }
    };
}

words! {
    Sex { Male "male" "male", Female "female" "female", Unknown "unknown" "not known" }
}

words! {
    /// A question that may be unanswered.
    Known { Yes "yes" "yes", No "no" "no", Unknown "unknown" "not known" }
}

words! {
    /// Whether the horse is still with us. A horse that is sold or dead stops reminders, bookings and sheets.
    Status { Here "here" "here", Retired "retired" "retired", Sold "sold" "sold", Dead "dead" "dead" }
}

words! {
    /// What a client is to a horse.
    PartyRole {
        Owner "owner" "owner",
        Trainer "trainer" "trainer",
        Agent "agent" "agent",
        Keeper "keeper" "keeps it",
        Rider "rider" "rider",
        Farrier "farrier" "farrier",
    }
}

impl Status {
    /// Whether visits may be booked and reminders go out. A retired horse is still looked after.
    pub fn is_seen(self) -> bool {
        matches!(self, Status::Here | Status::Retired)
    }

    /// What is said of a horse that is not simply here.
    pub fn word(self) -> Option<&'static str> {
        match self {
            Status::Here => None,
            Status::Sold => Some("sold"),
            Status::Retired => Some("retired"),
            Status::Dead => Some("dead"),
        }
    }
}
