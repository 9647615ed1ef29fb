//! The SQL of contacts.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{ClientId, ContactId, FollowUpId, HorseId, StaffId, TellId, VisitId, WishId},
};

/// A contact as it stands in the log.
#[derive(Debug, Clone)]
pub struct Contact {
    pub at: At,
    pub channel: String,
    pub way: String,
    pub person: String,
    pub words: String,
    pub by: String,
    pub client_id: Option<ClientId>,
    pub horse_id: Option<HorseId>,
    pub horse: Option<String>,
    /// With somebody who belonged to the horse and does not any more.
    pub earlier: bool,
}

impl Contact {
    pub fn channel_words(&self) -> &str {
        super::words(&super::CHANNELS, &self.channel)
    }

    pub fn way_words(&self) -> &str {
        super::words(&super::WAYS, &self.way)
    }
}

/// A contact on its way in.
#[derive(Debug, Clone)]
pub struct NewContact {
    pub client: Option<ClientId>,
    pub horse: Option<HorseId>,
    pub visit: Option<VisitId>,
    pub follow_up: Option<FollowUpId>,
    pub at: At,
    /// `phone`, `text`, `email`, `letter`, `in_person`
    pub channel: String,
    /// `in`, `out`, `tried`
    pub way: String,
    pub person: String,
    pub words: String,
}

pub async fn insert(tx: &mut Tx, new: &NewContact, by: StaffId, now: At) -> sqlx::Result<()> {
    let id = ContactId::new();
    sqlx::query!(
        "insert into contact (id, client_id, horse_id, visit_id, follow_up_id, at, channel, way, person, words, by_id, entered_at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        new.client,
        new.horse,
        new.visit,
        new.follow_up,
        new.at,
        new.channel,
        new.way,
        new.person,
        new.words,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Everything with a client, the newest first.
pub async fn of_client(db: impl SqliteExecutor<'_>, client: ClientId) -> sqlx::Result<Vec<Contact>> {
    sqlx::query_as!(
        Contact,
        r#"select k.at as "at: At", k.channel, k.way, k.person, k.words, s.name as by, k.client_id as "client_id: ClientId",
                  k.horse_id as "horse_id: HorseId", h.name as "horse?", false as "earlier!: bool"
           from contact k join staff s on s.id = k.by_id left join horse h on h.id = k.horse_id
           where k.client_id = ? order by k.at desc, k.id desc limit 500"#,
        client
    )
    .fetch_all(db)
    .await
}

/// Everything about a horse, the newest first; what was said with former people of it is marked.
pub async fn of_horse(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Contact>> {
    sqlx::query_as!(
        Contact,
        r#"select k.at as "at: At", k.channel, k.way, k.person, k.words, s.name as by, k.client_id as "client_id: ClientId",
                  k.horse_id as "horse_id: HorseId", h.name as "horse?",
                  k.client_id is not null
                  and exists (select 1 from party_past p where p.horse_id = k.horse_id and p.client_id = k.client_id)
                  and not exists (select 1 from party p where p.horse_id = k.horse_id and p.client_id = k.client_id)
                  as "earlier!: bool"
           from contact k join staff s on s.id = k.by_id left join horse h on h.id = k.horse_id
           where k.horse_id = ? order by k.at desc, k.id desc limit 500"#,
        horse
    )
    .fetch_all(db)
    .await
}

/// What a client said last about a way of being reached.
#[derive(Debug, Clone)]
pub struct Wish {
    pub channel: String,
    pub wanted: bool,
    pub words: String,
    pub by: String,
    pub at: At,
}

impl Wish {
    pub fn channel_words(&self) -> &str {
        super::words(&super::CHANNELS, &self.channel)
    }
}

/// Of each way the newest wish.
pub async fn wishes(db: impl SqliteExecutor<'_>, client: ClientId) -> sqlx::Result<Vec<Wish>> {
    sqlx::query_as!(
        Wish,
        r#"select w.channel, w.wanted as "wanted: bool", w.words, s.name as by, w.at as "at: At"
           from contact_wish w join staff s on s.id = w.by_id
           where w.client_id = ?1 and not exists (
               select 1 from contact_wish l where l.client_id = ?1 and l.channel = w.channel and l.id > w.id)
           order by w.channel"#,
        client
    )
    .fetch_all(db)
    .await
}

pub async fn wish(
    tx: &mut Tx,
    client: ClientId,
    (channel, wanted, words): (&str, bool, &str),
    by: StaffId,
    now: At,
) -> sqlx::Result<()> {
    let id = WishId::new();
    sqlx::query!(
        "insert into contact_wish (id, client_id, channel, wanted, words, by_id, at) values (?, ?, ?, ?, ?, ?, ?)",
        id,
        client,
        channel,
        wanted,
        words,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// The practice's own words of each kind of message, with their version.
pub async fn texts(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<(String, String, i64)>> {
    let rows = sqlx::query!("select kind, words, version from message_text").fetch_all(db).await?;
    Ok(rows.into_iter().map(|r| (r.kind, r.words, r.version)).collect())
}

/// Gives a message words of the practice's own; zero rows mean that somebody else was there first.
pub async fn set_text(
    tx: &mut Tx,
    (kind, words): (&str, &str),
    version: i64,
    by: StaffId,
    now: At,
) -> sqlx::Result<u64> {
    let done = if version == 0 {
        sqlx::query!(
            "insert or ignore into message_text (kind, words, changed_by, changed_at) values (?, ?, ?, ?)",
            kind,
            words,
            by,
            now
        )
        .execute(&mut **tx)
        .await?
    } else {
        sqlx::query!(
            "update message_text set words = ?, changed_by = ?, changed_at = ?, version = version + 1
             where kind = ? and version = ?",
            words,
            by,
            now,
            kind,
            version
        )
        .execute(&mut **tx)
        .await?
    };
    Ok(done.rows_affected())
}

/// Somebody who is owed a word about a visit.
#[derive(Debug, Clone, Copy)]
pub struct Owed {
    pub visit: VisitId,
    /// `moved`: it has another time; `ring_back`: a time is still to be found.
    pub kind: &'static str,
    /// The time that was told before.
    pub was_at: At,
}

/// Lists whoever called about a visit, else the horse's owner, else the first of its people.
pub async fn owe(tx: &mut Tx, owed: &Owed, by: StaffId, now: At) -> sqlx::Result<()> {
    let id = TellId::new();
    sqlx::query!(
        "insert into to_tell (id, visit_id, client_id, kind, was_at, by_id, at)
         select ?1, v.id, coalesce(v.client_id, (select p.client_id from party p where p.horse_id = v.horse_id
                order by p.role <> 'owner', p.created_at limit 1)), ?3, ?4, ?5, ?6
         from visit v where v.id = ?2",
        id,
        owed.visit,
        owed.kind,
        owed.was_at,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Somebody who is still to be told.
#[derive(Debug, Clone)]
pub struct ToTell {
    pub id: TellId,
    pub visit_id: VisitId,
    pub client_id: Option<ClientId>,
    pub client: Option<String>,
    pub phone: Option<String>,
    pub kind: String,
    pub was_at: At,
    pub by: String,
    pub at: At,
}

/// Everybody who is still to be told, the next visit first.
pub async fn to_tell(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<ToTell>> {
    sqlx::query_as!(
        ToTell,
        r#"select t.id as "id: TellId", t.visit_id as "visit_id: VisitId", t.client_id as "client_id: ClientId",
                  c.name as "client?",
                  (select number from client_phone where client_id = t.client_id order by position limit 1) as "phone: String",
                  t.kind, t.was_at as "was_at: At", s.name as by, t.at as "at: At"
           from to_tell t join staff s on s.id = t.by_id left join client c on c.id = t.client_id
           where t.done_at is null order by t.was_at, t.id"#
    )
    .fetch_all(db)
    .await
}

pub async fn count_to_tell(db: impl SqliteExecutor<'_>) -> sqlx::Result<i64> {
    sqlx::query_scalar!("select count(*) from to_tell where done_at is null").fetch_one(db).await
}

/// Says that somebody was told; zero rows mean that somebody said so before.
pub async fn told(tx: &mut Tx, id: TellId, by: StaffId, now: At) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update to_tell set done_at = ?, done_by = ? where id = ? and done_at is null",
        now,
        by,
        id
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// A word about a visit was said to a client: they know of its new time. Who is to be rung back is until there is one.
pub async fn told_client(
    tx: &mut Tx,
    visit: VisitId,
    client: ClientId,
    (by, now): (StaffId, At),
) -> sqlx::Result<()> {
    sqlx::query!(
        "update to_tell set done_at = ?, done_by = ? where visit_id = ? and client_id = ? and kind = 'moved'
             and done_at is null",
        now,
        by,
        visit,
        client
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// A visit has its time or is none any more: nobody has to be rung back about it.
pub async fn rang_back(tx: &mut Tx, visit: VisitId, by: StaffId, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "update to_tell set done_at = ?, done_by = ? where visit_id = ? and kind = 'ring_back' and done_at is null",
        now,
        by,
        visit
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}
