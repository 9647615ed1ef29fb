//! Kinds of studies as the database keeps them: by their code. The catalogue itself knows no database.

use sqlx::{
    Decode, Encode, Sqlite, Type,
    encode::IsNull,
    error::BoxDynError,
    sqlite::{SqliteArgumentsBuffer, SqliteTypeInfo, SqliteValueRef},
};

use crate::catalogue::StudyKind;

impl Type<Sqlite> for StudyKind {
    fn type_info() -> SqliteTypeInfo {
        <str as Type<Sqlite>>::type_info()
    }
}

impl<'r> Decode<'r, Sqlite> for StudyKind {
    fn decode(value: SqliteValueRef<'r>) -> Result<Self, BoxDynError> {
        let code = <&str as Decode<Sqlite>>::decode(value)?;
        StudyKind::of(code).ok_or_else(|| format!("{code} is no kind of study").into())
    }
}

impl<'q> Encode<'q, Sqlite> for StudyKind {
    fn encode_by_ref(&self, buffer: &mut SqliteArgumentsBuffer) -> Result<IsNull, BoxDynError> {
        <&str as Encode<'q, Sqlite>>::encode(self.code(), buffer)
    }
}
