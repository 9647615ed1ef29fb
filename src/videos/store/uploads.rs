//! Videos on their way in pieces.

use sqlx::{SqliteExecutor, SqlitePool};

use crate::{
    attachments,
    clock::At,
    db::Tx,
    ids::{StaffId, SubmissionId, VisitId},
};

/// What an upload said of itself when it began.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::videos) struct Upload {
    pub id: SubmissionId,
    pub staff_id: StaffId,
    pub visit_id: VisitId,
    /// The name of the file on the tablet.
    pub name: String,
    pub bytes: i64,
    /// The SHA-256 over the SHA-256 of each piece.
    pub digest: String,
    pub condition: String,
    pub site: String,
    pub words: String,
}

/// An upload as its page lists it.
#[derive(Debug, Clone)]
pub(in crate::videos) struct Half {
    pub id: SubmissionId,
    pub name: String,
    pub bytes: i64,
    pub digest: String,
    pub here: i64,
}

impl Half {
    /// `12.3 MB`
    pub(in crate::videos) fn size(&self) -> String {
        attachments::size(self.bytes)
    }

    /// Of so many pieces.
    pub(in crate::videos) fn pieces(&self) -> u64 {
        self.bytes.unsigned_abs().div_ceil(crate::videos::PIECE)
    }
}

pub(in crate::videos) async fn get(
    db: impl SqliteExecutor<'_>,
    id: SubmissionId,
) -> sqlx::Result<Option<Upload>> {
    sqlx::query_as!(
        Upload,
        r#"select id as "id: SubmissionId", staff_id as "staff_id: StaffId", visit_id as "visit_id: VisitId", name, bytes,
                  digest, condition, site, words
           from video_upload where id = ?"#,
        id
    )
    .fetch_optional(db)
    .await
}

/// Puts it in; one that is there already says what it shows anew.
pub(in crate::videos) async fn put(tx: &mut Tx, upload: &Upload, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into video_upload (id, staff_id, visit_id, name, bytes, digest, condition, site, words, begun_at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
         on conflict (id) do update
         set condition = excluded.condition, site = excluded.site, words = excluded.words, begun_at = excluded.begun_at",
        upload.id,
        upload.staff_id,
        upload.visit_id,
        upload.name,
        upload.bytes,
        upload.digest,
        upload.condition,
        upload.site,
        upload.words,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// It is kept, refused or given up.
pub(in crate::videos) async fn remove(tx: &mut Tx, id: SubmissionId) -> sqlx::Result<()> {
    sqlx::query!("delete from video_upload where id = ?", id).execute(&mut **tx).await?;
    Ok(())
}

/// Says that a piece is safe. An upload that ended meanwhile has no pieces.
pub(in crate::videos) async fn note(tx: &mut Tx, id: SubmissionId, number: i64) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into video_piece (upload_id, number) select id, ?2 from video_upload where id = ?1 on conflict do nothing",
        id,
        number
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// The numbers of the pieces that are safe.
pub(in crate::videos) async fn pieces(db: &SqlitePool, id: SubmissionId) -> sqlx::Result<Vec<i64>> {
    sqlx::query_scalar!("select number from video_piece where upload_id = ? order by number", id)
        .fetch_all(db)
        .await
}

/// What somebody began to send for a visit, the newest first.
pub(in crate::videos) async fn of_visit(
    db: impl SqliteExecutor<'_>,
    visit: VisitId,
    staff: StaffId,
) -> sqlx::Result<Vec<Half>> {
    sqlx::query_as!(
        Half,
        r#"select u.id as "id: SubmissionId", u.name, u.bytes, u.digest,
                  (select count(*) from video_piece p where p.upload_id = u.id) as "here!: i64"
           from video_upload u where u.visit_id = ? and u.staff_id = ? order by u.begun_at desc"#,
        visit,
        staff
    )
    .fetch_all(db)
    .await
}

/// Those that nobody went on with since `before`.
pub(in crate::videos) async fn old(db: &SqlitePool, before: At) -> sqlx::Result<Vec<SubmissionId>> {
    sqlx::query_scalar!(r#"select id as "id: SubmissionId" from video_upload where begun_at < ?"#, before)
        .fetch_all(db)
        .await
}
