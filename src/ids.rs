//! One id type a table, so that a horse's id cannot be handed in where a visit's is meant. `UUIDv7`, made by
//! whoever creates the row, a tablet included: the same row sent twice stays one row.

use std::{fmt, str::FromStr};

use serde::{Deserialize, Serialize};
use uuid::Uuid;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, sqlx::Type)]
        #[serde(transparent)]
        #[sqlx(transparent)]
        pub struct $name(Uuid);

        impl $name {
            /// A fresh id.
            #[expect(clippy::new_without_default, reason = "an id is made on purpose, never by default")]
            pub fn new() -> Self {
                Self(fresh())
            }

            /// The number under which a full-text index, which knows only numbers, keeps this row: the id's last
            /// 62 bits, its random ones.
            pub fn line(self) -> i64 {
                i64::from_be_bytes((self.0.as_u64_pair().1 & (u64::MAX >> 2)).to_be_bytes())
            }
        }

        impl From<$name> for Uuid {
            fn from(id: $name) -> Uuid {
                id.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = uuid::Error;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Uuid::parse_str(text).map(Self)
            }
        }
    )*};
}

#[expect(clippy::disallowed_methods, reason = "the one place where ids are made")]
fn fresh() -> Uuid {
    Uuid::now_v7()
}

ids! {
    /// Somebody who works in the practice.
    StaffId
    /// One signed-in browser.
    SessionId
    /// One browser on one tablet, as it named itself.
    DeviceId
    /// A word of the practice's own for the line reader.
    PracticeWordId
    /// One filled-in form: it takes effect once.
    SubmissionId
    ClientId
    PhoneId
    AddressId
    YardId
    HorseId
    WeightId
    /// A score of how fat a horse is.
    ConditionId
    /// A row of the formulary that the practice made, changed or confirmed.
    FormularyId
    /// Something to know of a horse before a medicine.
    RiskId
    /// A passport that was seen.
    PassportId
    /// A safe or a vehicle in which controlled drugs are kept.
    StoreId
    /// A line of the register of controlled drugs.
    LineId
    PartyId
    VisitId
    ComplaintId
    /// A line in a visit's own history: booked, moved, cancelled.
    ChangeId
    HandoverId
    /// One entry of the medical record.
    EntryId
    /// What one gesture covered: the entries of a sweep share it.
    SweepId
    FollowUpId
    /// Something ordered: a set of radiographs, a scan, a sample.
    OrderId
    /// One projection, structure or sample of an order.
    ItemId
    /// A line in an order's own history.
    StepId
    /// A way back to work that was prescribed.
    ProgrammeId
    /// A programme of the practice's own.
    OwnProgrammeId
    /// A laboratory that samples are sent to.
    LaboratoryId
    /// One object that equipment sent.
    ArrivalId
    /// A decision about such an object that was taken back.
    DecisionId
    /// What dose rates are measured with.
    MeterId
    /// What a caller said to one question.
    AnswerId
    /// An owner's word about one wording to callers.
    ApprovalId
    /// A line of what was done with the practice's data as a whole.
    AuditId
    /// A table on its way in.
    ImportId
    /// A word with a client: a call, a letter, a text.
    ContactId
    /// How a client wants to be reached.
    WishId
    /// What several visits of one yard share.
    StopId
    /// Somebody who has to be told of another time.
    TellId
    /// A yard or a horse that others are kept safe from.
    MarkId
    /// Rules of a body under which horses compete.
    RuleSetId
    RestrictionId
    /// What a veterinarian adds to a detection time.
    MarginId
    /// A record that must not go yet.
    HoldId
    /// Somebody who asked for a copy of a record.
    CopyId
    /// A paper in the practice's own words.
    LetterId
    /// A price of the practice's own list.
    PriceId
    /// A line that a visit is charged.
    ChargeId
}
