//! One form of the page on its way into the record, and the follow-up that goes with it.

use axum::{extract::State, response::Response};

use super::{
    forms::Typed,
    page,
    scene::{Scene, Way, exercise_of},
    store,
};
use crate::{
    App,
    accounts::{Act, Can, User, act},
    clock::Day,
    followups::{
        self,
        store::{Closing, NewFollowUp},
    },
    ids::{EntryId, ProgrammeId, StaffId},
    record::{self, Body, Exercise, Kind, NewEntry, Stamp},
    web::{Begun, Conflict, Error, Errors, Form, Once, Path, Result, Shell, begin, flash},
};

/// A form that was sent, with who sent it.
struct Work {
    user: User,
    shell: Shell,
    typed: Typed,
    once: Once,
    scene: Scene,
}

impl Work {
    /// Begins one; a repeat is answered with where the first one led.
    async fn begin(
        app: &App,
        user: User,
        shell: Shell,
        id: ProgrammeId,
        typed: Typed,
    ) -> Result<std::result::Result<Self, Response>> {
        let once = match begin(app, &typed.submission, Some(user.id)).await? {
            Begun::Fresh(once) => once,
            Begun::Repeat(first) => return Ok(Err(first)),
        };
        let scene = Scene::load(app, id).await?;
        if scene.kept.ended_at.is_some() {
            return Err(clash(&scene, "it has ended"));
        }
        Ok(Ok(Work { user, shell, typed, once, scene }))
    }

    fn since_start(&self) -> (Day, Day) {
        (self.scene.way.prescribed.start, self.scene.today)
    }

    fn at_any_time(&self) -> (Day, Day) {
        let (start, today) = self.since_start();
        (start.min(today), today)
    }

    fn wrong(self, errors: Errors) -> Response {
        let Work { shell, typed, once, scene, .. } = self;
        drop(once);
        page::again(scene, shell, typed, errors, None)
    }

    fn body(&self, exercise: Exercise, words: String) -> Body {
        Body {
            code: Some(exercise.code().to_owned()),
            programme: Some(self.scene.kept.id),
            exercise: Some(exercise),
            text: Some(words).filter(|words| !words.is_empty()),
            ..Body::new(Kind::Programme)
        }
    }

    async fn keep(mut self, body: Body, line: &str) -> Result<Response> {
        let way = self.scene.way_with(body.exercise.as_ref(), None);
        let passed = matches!(&body.exercise, Some(Exercise::Gate(one)) if one.passed);
        let ends = matches!(&body.exercise, Some(Exercise::End(_)));
        append(&mut self.once, &self.user, NewEntry::new(self.scene.kept.visit_id, body)).await?;
        if ends {
            store::end(&mut self.once.tx, self.scene.kept.id, Some(self.once.now)).await?;
        }
        let way = way.filter(|_| !ends);
        promise(&mut self.once, self.user.id, &self.scene, way.as_ref(), passed || ends).await?;
        self.done(line).await
    }

    async fn done(mut self, line: &str) -> Result<Response> {
        flash(&mut self.once.tx, &self.user, line).await?;
        self.once.commit(&self.scene.at()).await
    }
}

/// Begins a form, or answers a repeat.
macro_rules! work {
    ($($part:expr),*) => {
        match Work::begin($($part),*).await? {
            Ok(work) => work,
            Err(first) => return Ok(first),
        }
    };
}

pub(super) async fn gate(
    State(app): State<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    Path(id): Path<ProgrammeId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let work = work!(&app, user, shell, id, typed);
    let course = &work.scene.way.course;
    let next = course.next_gate().and_then(|at| course.stretches.get(at)).map(|stretch| stretch.step);
    if next.is_none_or(|step| step.to_string() != work.typed.gate) {
        return Err(clash(&work.scene, "this gate was decided meanwhile"));
    }
    match work.typed.gate(work.since_start()) {
        Ok((exercise, why)) => {
            let body = work.body(exercise, why);
            work.keep(body, "The gate is decided, and the calendar is moved.").await
        }
        Err(errors) => Ok(work.wrong(errors)),
    }
}

pub(super) async fn change(
    State(app): State<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    Path(id): Path<ProgrammeId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let work = work!(&app, user, shell, id, typed);
    let about = work.typed.about.parse::<EntryId>().ok();
    if !work.typed.about.is_empty() && !work.scene.open_signs().iter().any(|entry| Some(entry.id) == about) {
        return Err(clash(&work.scene, "this was decided or taken back meanwhile"));
    }
    match work.typed.slower(work.since_start()) {
        Ok((exercise, why)) => {
            let body = Body { about, ..work.body(exercise, why) };
            work.keep(body, "Decided.").await
        }
        Err(errors) => Ok(work.wrong(errors)),
    }
}

pub(super) async fn told(
    State(app): State<App>,
    Can { user, .. }: Can<act::FollowUp>,
    shell: Shell,
    Path(id): Path<ProgrammeId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let work = work!(&app, user, shell, id, typed);
    match work.typed.told(work.at_any_time()) {
        Ok((exercise, by, words)) => {
            let line = if work.typed.signs.is_empty() {
                "Noted."
            } else {
                "Noted. It stands on the day page until a veterinarian has decided."
            };
            let body = Body { held_by: Some(by), ..work.body(exercise, words) };
            work.keep(body, line).await
        }
        Err(errors) => Ok(work.wrong(errors)),
    }
}

pub(super) async fn end(
    State(app): State<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    Path(id): Path<ProgrammeId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let work = work!(&app, user, shell, id, typed);
    match work.typed.end(work.at_any_time()) {
        Ok((exercise, why)) => {
            let body = work.body(exercise, why);
            work.keep(body, "The programme has ended.").await
        }
        Err(errors) => Ok(work.wrong(errors)),
    }
}

/// Takes an entry back: what was told by anybody, what was decided by a veterinarian.
pub(super) async fn withdraw(
    State(app): State<App>,
    Can { user, .. }: Can<act::FollowUp>,
    shell: Shell,
    Path((id, entry)): Path<(ProgrammeId, EntryId)>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut work = work!(&app, user, shell, id, typed);
    let Some(known) = work.scene.standing(entry).and_then(exercise_of) else {
        return Err(clash(&work.scene, "it was taken back meanwhile"));
    };
    match known {
        Exercise::Start(_) | Exercise::End(_) => return Err(Error::NotFound),
        Exercise::Gate(_) | Exercise::Change(_) if !work.user.may(Act::Sign) => return Err(Error::Forbidden),
        _ => {}
    }
    let why = match work.typed.back() {
        Ok(why) => why,
        Err(errors) => {
            let Work { shell, typed, once, scene, .. } = work;
            drop(once);
            return Ok(page::again(scene, shell, typed, errors, Some(entry)));
        }
    };
    let way = work.scene.way_with(None, Some(entry));
    let back = Body { reason: Some(why), programme: Some(id), ..Body::new(Kind::Withdrawal) };
    let new = NewEntry::new(work.scene.kept.visit_id, back).superseding(entry);
    append(&mut work.once, &work.user, new).await?;
    promise(&mut work.once, work.user.id, &work.scene, way.as_ref(), false).await?;
    work.done("Taken back.").await
}

async fn append(once: &mut Once, user: &User, entry: NewEntry) -> Result<()> {
    let stamp = Stamp::here(user.id, &user.agent, once.now);
    Ok(record::append(&mut once.tx, &stamp, &[entry]).await?)
}

fn clash(scene: &Scene, theirs: &str) -> Error {
    let what = format!("The programme of {}", scene.card.name);
    let clash = Conflict { what, back: scene.at(), ..Conflict::default() };
    Error::Conflict(Box::new(clash.field("This form", "what you typed stands below", theirs)))
}

/// Keeps the follow-up of the next gate on its day. `closes` ends the one that stood for the gate before.
async fn promise(once: &mut Once, by: StaffId, scene: &Scene, way: Option<&Way>, closes: bool) -> Result<()> {
    let kept = scene.kept.follow_up_id;
    let next = way.and_then(Way::gate).map(|(step, due_on)| (Way::gate_words(step), due_on));
    if let (Some(id), Some((what, due_on))) = (kept.filter(|_| !closes), &next)
        && followups::store::redate(&mut once.tx, id, *due_on, what).await? > 0
    {
        return Ok(());
    }
    if let Some(id) = kept {
        let stood = followups::store::get(&mut *once.tx, id).await?;
        let closing = Closing { state: "done", reason: "", by, at: once.now };
        followups::store::close(&mut once.tx, id, stood.version, &closing).await?;
    }
    let new = match next {
        None => None,
        Some((what, due_on)) => {
            let new =
                NewFollowUp { horse: scene.kept.horse_id, visit: Some(scene.kept.visit_id), due_on, what };
            Some(followups::store::insert(&mut once.tx, &new, by, once.now).await?)
        }
    };
    Ok(store::follow_up(&mut once.tx, scene.kept.id, new).await?)
}
