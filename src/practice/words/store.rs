//! The SQL of the practice's own words.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{PracticeWordId, StaffId},
    reasoning::line::PracticeWord,
};

/// One word, with who added it.
#[derive(Debug, Clone)]
pub(super) struct Added {
    pub id: PracticeWordId,
    pub says: String,
    pub means: String,
    pub by: String,
}

impl Added {
    pub(super) fn word(&self) -> PracticeWord {
        PracticeWord { says: self.says.clone(), means: self.means.clone() }
    }
}

pub(super) async fn all(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Added>> {
    sqlx::query_as!(
        Added,
        r#"select w.id as "id: PracticeWordId", w.says, w.means, s.name as by
           from practice_word w join staff s on s.id = w.added_by order by w.says"#
    )
    .fetch_all(db)
    .await
}

pub(super) async fn insert(
    tx: &mut Tx,
    id: PracticeWordId,
    word: &PracticeWord,
    by: StaffId,
    now: At,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into practice_word (id, says, means, added_by, added_at) values (?, ?, ?, ?, ?)",
        id,
        word.says,
        word.means,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Gives what was taken out, or nothing when it was gone already.
pub(super) async fn remove(tx: &mut Tx, id: PracticeWordId) -> sqlx::Result<Option<String>> {
    sqlx::query_scalar!("delete from practice_word where id = ? returning says", id)
        .fetch_optional(&mut **tx)
        .await
}
