//! Picking the other one, both beside each other, and the one out of two.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;
use uuid::Uuid;

use super::{
    Kind, clients,
    face::{Face, Pair, pairs},
    horses,
    store::{self, Going, NewTrace},
};
use crate::{
    App,
    accounts::{Can, User, act},
    audit,
    ids::{ClientId, HorseId},
    search::{self, Hit},
    web::{Begun, Check, Conflict, Error, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid},
};

/// The page: one row, and the other once it is picked.
#[derive(Template, WebTemplate)]
#[template(path = "merging/page.html")]
struct MergePage {
    shell: Shell,
    errors: Errors,
    kind: Kind,
    here: Face,
    there: Option<Face>,
    pairs: Vec<Pair>,
    q: String,
    hits: Vec<Hit>,
    reason: String,
    sure: bool,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct MergeQuery {
    q: String,
    with: String,
}

/// The form as it comes: which fields there are depends on what differs.
type Fields = Vec<(String, String)>;

fn field<'a>(form: &'a Fields, name: &str) -> &'a str {
    form.iter().find(|(known, _)| known == name).map_or("", |(_, value)| value.as_str())
}

async fn face(app: &App, kind: Kind, id: &str) -> Result<Face> {
    let not_there = |_| Error::NotFound;
    Ok(match kind {
        Kind::Client => clients::face(app.db.read(), id.parse::<ClientId>().map_err(not_there)?).await?,
        Kind::Horse => horses::face(app.db.read(), id.parse::<HorseId>().map_err(not_there)?).await?,
    })
}

impl MergePage {
    async fn new(app: &App, shell: Shell, kind: Kind, id: Uuid, query: MergeQuery) -> Result<Self> {
        let here = face(app, kind, &id.to_string()).await?;
        let there = match query.with.parse::<Uuid>() {
            Ok(with) if with != id => Some(face(app, kind, &with.to_string()).await?),
            _ => None,
        };
        let q = if query.q.is_empty() && there.is_none() { here.name.clone() } else { query.q };
        let mut hits = search::find(&app.db, &q, &[kind.of_search()], 10).await?;
        hits.retain(|hit| hit.id != id.to_string());
        let pairs = there.as_ref().map(|there| pairs(&here, there)).unwrap_or_default();
        Ok(MergePage {
            shell,
            errors: Errors::default(),
            kind,
            here,
            there,
            pairs,
            q,
            hits,
            reason: String::new(),
            sure: false,
        })
    }

    fn action(&self) -> String {
        format!("{}/merge", self.kind.path(self.here.id))
    }

    /// Two microchips that are not the same: most likely two horses.
    fn two_chips(&self) -> bool {
        let chip = |pair: &&Pair| pair.key == "microchip" && !pair.here.is_empty() && !pair.there.is_empty();
        self.pairs.iter().find(chip).is_some_and(Pair::differs)
    }
}

pub(super) async fn client(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::EditClients>,
    Path(id): Path<ClientId>,
    Query(query): Query<MergeQuery>,
) -> Result<Response> {
    Ok(MergePage::new(&app, shell, Kind::Client, id.into(), query).await?.into_response())
}

pub(super) async fn horse(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::EditHorses>,
    Path(id): Path<HorseId>,
    Query(query): Query<MergeQuery>,
) -> Result<Response> {
    Ok(MergePage::new(&app, shell, Kind::Horse, id.into(), query).await?.into_response())
}

pub(super) async fn merge_clients(
    State(app): State<App>,
    shell: Shell,
    Can { user, .. }: Can<act::EditClients>,
    Path(id): Path<ClientId>,
    Form(form): Form<Fields>,
) -> Result<Response> {
    merge(&app, shell, &user, (Kind::Client, id.into()), &form).await
}

pub(super) async fn merge_horses(
    State(app): State<App>,
    shell: Shell,
    Can { user, .. }: Can<act::EditHorses>,
    Path(id): Path<HorseId>,
    Form(form): Form<Fields>,
) -> Result<Response> {
    merge(&app, shell, &user, (Kind::Horse, id.into()), &form).await
}

async fn merge(
    app: &App,
    shell: Shell,
    user: &User,
    (kind, id): (Kind, Uuid),
    form: &Fields,
) -> Result<Response> {
    if let Some(first) = crate::web::repeated(app, field(form, "submission")).await? {
        return Ok(first);
    }
    if let Ok(with) = field(form, "with").parse::<Uuid>()
        && store::kept(app.db.read(), with).await?.is_some()
    {
        let what = format!("The other {} was put together with one meanwhile", kind.key());
        return Err(Conflict { what, back: kind.path(id), ..Conflict::default() }.into());
    }
    let query = MergeQuery { with: field(form, "with").to_owned(), ..MergeQuery::default() };
    let mut page = MergePage::new(app, shell, kind, id, query).await?;
    let Some(there) = page.there.clone() else {
        page.errors.add("q", format!("Choose the other {} first.", kind.key()));
        return Ok(invalid(page));
    };
    let (taken, reason, errors) = read(&mut page, form);
    if !errors.is_empty() {
        page.errors = errors;
        return Ok(invalid(page));
    }
    let mut once = match begin(app, field(form, "submission"), Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let going = Going { kind, old: there.id, kept: id };
    let version = field(form, "version").parse().unwrap_or(0);
    let version_there = field(form, "version_there").parse().unwrap_or(0);
    let done = if there.version == version_there {
        put_together(&mut once.tx, &going, version, &taken).await?
    } else {
        0
    };
    if done == 0 {
        drop(once);
        return Err(stale(&page));
    }
    store::repoint(&mut once.tx, &going).await?;
    let (old_row, kept_row) = (there.json()?, page.here.json()?);
    let new = NewTrace { going: &going, old_row: &old_row, kept_row: &kept_row, reason: &reason };
    store::trace(&mut once.tx, &new, user.id, once.now).await?;
    refresh(&mut once.tx, &going).await?;
    let said = format!("{} {} into {}: {reason}", kind.key(), there.name, page.here.name);
    audit::store::note(&mut once.tx, "put together", &said, user.id, once.now).await?;
    flash(&mut once.tx, user, &format!("Both are one {} now. The old address leads here.", kind.key()))
        .await?;
    once.commit(&kind.path(id)).await
}

/// Which fields are taken from the other one, why it is done, and what is wrong with the form.
fn read(page: &mut MergePage, form: &Fields) -> (Vec<&'static str>, String, Errors) {
    let mut check = Check::new();
    let reason = check.needed("reason", field(form, "reason"), 500, "Say how you know that both are one.");
    let mut taken = Vec::new();
    for pair in page.pairs.iter_mut().filter(|pair| pair.differs()) {
        match field(form, &pair.name()) {
            "here" => pair.there_stays = false,
            "there" => {
                pair.there_stays = true;
                taken.push(pair.key);
            }
            _ => check.errors.add(&pair.name(), "Choose which of both stays."),
        }
    }
    page.sure = field(form, "sure") == "yes";
    if page.two_chips() && !page.sure {
        check.errors.add("sure", "Scan the horse, then say that you are sure.");
    }
    field(form, "reason").clone_into(&mut page.reason);
    (taken, reason, check.errors)
}

async fn put_together(
    tx: &mut crate::db::Tx,
    going: &Going,
    version: i64,
    taken: &[&str],
) -> anyhow::Result<u64> {
    match going.kind {
        Kind::Client => {
            let (kept, old) = (parsed::<ClientId>(going.kept)?, parsed::<ClientId>(going.old)?);
            clients::put_together(tx, (kept, version), old, taken).await
        }
        Kind::Horse => {
            let (kept, old) = (parsed::<HorseId>(going.kept)?, parsed::<HorseId>(going.old)?);
            horses::put_together(tx, (kept, version), old, taken).await
        }
    }
}

fn parsed<T: std::str::FromStr<Err = uuid::Error>>(id: Uuid) -> anyhow::Result<T> {
    Ok(id.to_string().parse()?)
}

/// What the search finds of both.
async fn refresh(tx: &mut crate::db::Tx, going: &Going) -> anyhow::Result<()> {
    let old = (going.old.to_string(), parsed::<ClientId>(going.old)?.line());
    search::index::forget(tx, going.kind.of_search(), &[old]).await?;
    match going.kind {
        Kind::Client => search::refresh_client(tx, parsed(going.kept)?).await?,
        Kind::Horse => search::refresh_horse(tx, parsed(going.kept)?).await?,
    }
    Ok(())
}

fn stale(page: &MergePage) -> Error {
    let there = page.there.as_ref().map_or("", |there| there.name.as_str());
    let what = format!("{} or {there}: one of both was changed after you opened this page", page.here.name);
    Conflict { what, back: page.action(), ..Conflict::default() }.into()
}
