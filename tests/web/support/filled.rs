//! A practice with something of everything in it, so that every page shows the forms it can show; and copies of it
//! that may be spoilt.

use std::collections::BTreeMap;

use limbledger::{
    accounts::{Role, Token, factor, keeping},
    catalogue::charges::Unit,
    ids::{EntryId, HandoverId, HorseId, OwnProgrammeId, RuleSetId, StaffId, VisitId},
    programmes::store::Own,
    record::{self, Body, Given, Kind, NewEntry},
    visits::State,
};

use super::{
    Browser, Fixture, PASSWORD, TestApp,
    imports::{import, read_rows},
    pictures::{Object, picture_of},
    record::{Story, clear, finding, on},
};

/// The practice, and a browser of each kind in it.
pub struct Filled {
    test: TestApp,
    browsers: Vec<(&'static str, Option<String>)>,
    /// Pages that one comes to by doing or searching something, not by a link.
    pub beyond: Vec<String>,
    /// What it was filled from.
    pub fixture: Fixture,
}

/// Who looks at the pages, the one who sees most first. `new` came in with a one-use code.
/// `half` has shown a right password, and waits for the code of a second factor.
pub const WHO: [&str; 8] = ["vet", "owner", "technician", "desk", "stranger", "locked", "new", "half"];

/// The secret of every device here: that of RFC 6238, appendix B. The clock of the tests stands still, and so do its
/// codes; each is good once in each copy of the practice.
const DEVICE: &[u8; 20] = b"12345678901234567890";
pub const CODE: &str = "895409";
const RECOVERY_CODE: &str = "AAAA-BBBB-CCCC-DDDD";

impl Filled {
    pub async fn new() -> Self {
        let test = TestApp::new().await;
        let f = Fixture::new(&test).await;
        let (beside, blocked, block) = fill(&test, &f).await;
        let mut beyond = results(&test, &f).await;
        beyond.extend(scanned(&test, &f).await);
        beyond.extend(samples(&test, &f).await);
        beyond.extend(care(&test, &f).await);
        on_its_way(&test, &f).await;
        beyond.extend(desk_work(&test, &f, beside).await);
        beyond.push(front_desk(&test, &f).await);
        // Last, for a person keeps five browsers. A second one of the vet's, so that there is one to be signed out.
        test.signed_in(Role::Vet).await;
        let mut browsers = Vec::new();
        for (who, role) in WHO.into_iter().zip([Role::Vet, Role::Owner, Role::Technician, Role::Desk]) {
            browsers.push((who, test.signed_in(role).await.cookie));
        }
        browsers.push(("stranger", None));
        let mut locked = test.signed_in(Role::Technician).await;
        locked.post("/lock", &[]).await;
        browsers.push(("locked", locked.cookie));
        browsers.push(("new", with_code(&test).await.cookie));
        browsers.push(("half", Some(devices(&test).await)));
        beyond.extend([
            "/diagnostics/arrivals".to_owned(),
            "/away/begin".to_owned(),
            "/sign-in/code".to_owned(),
            "/me/second-factor".to_owned(),
            format!("/walk-in?horse={}", f.horse),
            format!("/visits/{}/horse?to={}", f.visit, beside),
            format!("/visits/{}/exam?open=FETL_D.L", f.visit),
            format!("/visits/{}/exam?open=FT_SHOE.LF", f.visit),
            format!("/visits/{}/exam?flexion=FX_DF", f.visit),
            format!("/visits/{blocked}/exam?flexion=FX_DF"),
            format!("/visits/{}/work-up/block?limb=LF&block=PDN", f.visit),
            format!("/visits/{blocked}/work-up/block?limb=LF&block=PDN"),
            format!("/visits/{blocked}/work-up/block?limb=LF&block=DIPJ"),
            format!("/visits/{blocked}/work-up?take_back={block}"),
        ]);
        Filled { test, browsers, beyond, fixture: f }
    }

    /// The same practice in a folder of its own; who is signed in here is signed in there.
    pub async fn copy(&self) -> Self {
        let Filled { browsers, beyond, fixture, .. } = self;
        Filled {
            test: self.test.copy().await,
            browsers: browsers.clone(),
            beyond: beyond.clone(),
            fixture: *fixture,
        }
    }

    pub fn browser(&self, who: &str) -> Browser {
        let (_, cookie) = self.browsers.iter().find(|(name, _)| *name == who).unwrap();
        Browser { cookie: cookie.clone(), ..self.test.stranger() }
    }

    /// Where the practice's files lie.
    pub fn folder(&self) -> &std::path::Path {
        self.test.folder()
    }

    /// Every table and how many rows it has, but for what is only kept about forms and browsers.
    pub async fn rows(&self) -> Vec<(String, i64)> {
        let mut rows = Vec::new();
        for name in self.tables().await {
            let count = self.test.count(&name).await;
            rows.push((name, count));
        }
        rows
    }

    async fn tables(&self) -> Vec<String> {
        sqlx::query_scalar(
            "select name from sqlite_master where type = 'table' and name not like 'sqlite_%'
             and name not in ('session', 'submission', 'row_sum')",
        )
        .fetch_all(self.test.app.db.read())
        .await
        .unwrap()
    }

    /// All that stands in each table, but for what is kept about browsers, about who took what along, how often anything was
    /// written, and recovery codes that wait to be shown once.
    pub async fn contents(&self) -> BTreeMap<String, String> {
        let mut all = BTreeMap::new();
        for table in self.tables().await {
            if ["audit", "audit_link", "commits", "second_factor"].contains(&table.as_str()) {
                continue;
            }
            let columns = format!(
                "select group_concat('quote(\"' || name || '\")', '||') from pragma_table_info('{table}')"
            );
            let columns = self.text_of(&columns).await;
            let rows = format!("select {columns} as line from \"{table}\" order by 1");
            let rows = self
                .text_of(&format!("select coalesce(group_concat(line, char(10)), '') from ({rows})"))
                .await;
            all.insert(table, rows);
        }
        all
    }

    /// Who may what, and what is signed: what no form for something else may touch.
    pub async fn standing(&self) -> String {
        let staff = "select group_concat(hex(id) || role || licensed || active) from (select * from staff order by id)";
        let signed = "select group_concat(hex(id) || state || coalesce(hex(signed_by), '')) from
                      (select * from visit where state = 'signed' order by id)";
        format!("{}\n{}", self.text_of(staff).await, self.text_of(signed).await)
    }

    async fn text_of(&self, sql: &str) -> String {
        let asked = sqlx::query_scalar::<_, Option<String>>(sqlx::AssertSqlSafe(sql.to_owned()));
        asked.fetch_one(self.test.app.db.read()).await.unwrap().unwrap_or_default()
    }

    /// Somebody else signs every visit that is open.
    pub async fn sign_everything(&self) {
        let sql = "update visit set state = 'signed', signed_by = vet_id, signed_at = starts_at, version = version + 1
                   where state <> 'signed' and vet_id is not null";
        self.run(sql).await;
    }

    async fn run(&self, sql: &str) {
        run(&self.test, sql).await;
    }
}

async fn run(test: &TestApp, sql: &str) {
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::raw_sql(sqlx::AssertSqlSafe(sql.to_owned())).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
}

fn hex(id: impl std::fmt::Display) -> String {
    format!("x'{}'", id.to_string().replace('-', ""))
}

/// Somebody who was added from the shell and has just signed in for the first time.
async fn with_code(test: &TestApp) -> Browser {
    let new = test.another_vet("New Test").await;
    let mut tx = test.app.db.write().await.unwrap();
    keeping::expect_code(&mut tx, new, test.now().plus_minutes(60)).await.unwrap();
    let hash = test.app.hasher.hash(&PASSWORD.to_uppercase()).await.unwrap();
    sqlx::query("update staff set password_hash = ? where id = ?")
        .bind(hash)
        .bind(new)
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    test.signed_in_as("New Test").await
}

/// A device of the vet's that counts, one of the technician's that has not shown a code yet, and somebody with a right
/// password on the way to the code, by the cookie.
async fn devices(test: &TestApp) -> String {
    let token = Token::new().unwrap();
    let mut tx = test.app.db.write().await.unwrap();
    for staff in [test.vet, test.technician] {
        let sealed = test.app.second_factors.seal(&factor::owner_of(staff), DEVICE).unwrap();
        factor::store::propose(&mut tx, staff, &sealed, test.now()).await.unwrap();
    }
    factor::store::confirm(&mut tx, test.vet, 0, test.now()).await.unwrap();
    let digest = factor::codes::digest(test.vet, RECOVERY_CODE);
    let unseen = test.app.second_factors.seal(&factor::owner_of(test.vet), RECOVERY_CODE.as_bytes()).unwrap();
    factor::store::set_recovery(&mut tx, test.vet, &[digest], &unseen).await.unwrap();
    let times = (test.now(), test.now().plus_minutes(5));
    factor::store::begin_half(&mut tx, &token.hash(), (test.vet, false, "/"), times).await.unwrap();
    tx.commit().await.unwrap();
    format!("sid={}", token.as_str())
}

/// Gives a horse that stands beside the one of the fixture, a visit of it in hand, and a block of that visit.
async fn fill(test: &TestApp, f: &Fixture) -> (HorseId, VisitId, EntryId) {
    let words = [("says", "squashy"), ("means", "effusion")];
    let mut owner = test.signed_in(Role::Owner).await;
    owner.submit("/practice/words", &words).await;
    let late = "clock/PDN/late_min";
    let weight = [("weight", late), ("version", "0"), ("value", "14"), ("reason", "read earlier here")];
    owner.submit("/practice/weights", &weight).await;
    arrival(test).await;
    on_the_road(test, &mut owner).await;
    let other_vet = test.another_vet("Orla Test").await;
    let gone = test.another_vet("Gone Test").await;
    run(test, &format!("update staff set active = 0 where id = {}", hex(gone))).await;

    // In hand, very lame, with something found; Briar's was signed, with one entry that came too late.
    let story = Story { test, horse: f.horse };
    for body in [finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4"), clear("CARP", "L")] {
        story.say(f.visit, on(body, Some("LF"))).await;
    }
    let complaint = hex(limbledger::ids::EntryId::new());
    let toe = format!(
        "insert into complaint (id, visit_id, position, words, weight_bearing, created_at)
         values ({complaint}, {}, 1, 'very lame since this morning', 'toe', 0)",
        hex(f.visit)
    );
    run(test, &toe).await;
    let briar = Story::new(test).await;
    let signed = briar.visit("2026-03-02").await;
    briar.say(signed, on(finding("FETL_D", "R", "EFF", 1.0, "effusion_0_4"), Some("RF"))).await;
    briar.sign(signed).await;
    let late = on(finding("FETL_D", "R", "HEAT", 1.0, "finding_0_3"), Some("RF"));
    briar.add(NewEntry { late: true, ..NewEntry::new(signed, late) }).await;

    test.visit(briar.horse, test.vet, "2026-03-11", (14, 0), State::Booked).await;
    test.visit(f.horse, other_vet, "2026-03-12", (10, 0), State::Arrived).await;
    let offered = test.visit(briar.horse, other_vet, "2026-03-10", (10, 0), State::InHand).await;
    hand_over(test, offered, other_vet).await;
    sold(test).await;
    let unread = Some("lh hock sweling 1".to_owned());
    let kept = Body { value: Some("not_read".into()), text: unread, ..Body::new(Kind::Note) };
    story.say(f.visit, kept).await;
    let plan = Body { text: Some("Rest until the recheck.".into()), ..Body::new(Kind::Plan) };
    story.say(f.visit, plan).await;
    let mut tx = test.app.db.write().await.unwrap();
    limbledger::search::rebuild(&mut tx).await.unwrap();
    tx.commit().await.unwrap();
    let sweep = format!("/visits/{}/exam/entries/sweep", f.visit);
    let mut vet = test.signed_in(Role::Vet).await;
    vet.submit(&sweep, &[("section", "RH")]).await;
    vet.submit("/me/calendar", &[]).await;
    (briar.horse, offered, block(test, &briar, offered).await)
}

/// A vet whose day would be shorter in another order, and wordings to callers that are approved, but for one.
async fn on_the_road(test: &TestApp, owner: &mut Browser) {
    let mut tx = test.app.db.write().await.unwrap();
    limbledger::practice::advice::approve_all(&mut tx, test.owner, test.now()).await.unwrap();
    tx.commit().await.unwrap();
    let first = limbledger::catalogue::catalogue().red_flags.first().unwrap();
    let one = [("code", first.code.as_str()), ("wording", first.advice.as_str())];
    owner.submit("/practice/advice/withdraw", &one).await;
    test.zigzag("Zara Test").await;
}

/// An order of which a technician has entered what it shows, and one that was closed. Gives the pages where its results
/// are amended.
async fn results(test: &TestApp, f: &Fixture) -> Vec<String> {
    let mut technician = test.signed_in(Role::Technician).await;
    let order = format!("/visits/{}/diagnostics/usual", f.visit);
    let study = |study| [("study", study), ("limb", "RF")];
    let reported = technician.submit(&order, &study("fetlock")).await.location().to_owned();
    let id = reported.rsplit('/').next().and_then(|id| id.parse().ok()).unwrap();
    technician.submit(&format!("{reported}/taken"), &[]).await;
    technician
        .submit(&format!("{reported}/report"), &[("version", "1"), ("report", "Nothing to see.")])
        .await;
    let spur = [("site", "FETL_D.R"), ("shows", "a small spur")];
    technician.submit(&format!("{reported}/shown"), &spur).await;
    let closed = technician.submit(&order, &study("carpus")).await.location().to_owned();
    let why = [("version", "1"), ("closed", "not needed after all")];
    technician.submit(&format!("{closed}/close"), &why).await;
    let (results, _) = record::results_of_order(test.app.db.read(), id).await.unwrap();
    let amended = results.iter().map(|entry| format!("{reported}?amend={}", entry.id)).collect();
    // A picture after the report, measured.
    let object = Object { view: "LM".into(), laterality: "R".into(), ..Object::new("77") };
    let picture = picture_of(&mut technician, test, id, object).await;
    let marks = [("point-G1", "0,2"), ("point-G2", "2,2"), ("point-T", "1.5,1.5"), ("point-Q", "0.5,1")];
    let asked = [("what", "foot"), ("view", "LM"), ("limb", "RF"), ("scale", "none")];
    let measured = technician.submit(&format!("{picture}/measure"), &[&marks[..], &asked].concat()).await;
    assert!(measured.status.is_redirection(), "{:?}", measured.texts(".error"));
    amended
}

/// A horse that was injected for a bone scan and could leave by now, and one that is still to be injected. Gives the
/// pages where each kind of entry is amended.
async fn scanned(test: &TestApp, f: &Fixture) -> Vec<String> {
    let mut owner = test.signed_in(Role::Owner).await;
    let licence = [("version", "1"), ("reference", "licence 7"), ("min_hours", "24"), ("max_usv_h", "5")];
    owner.submit("/practice/radiation", &licence).await;
    let vet = test.vet.to_string();
    owner.submit("/practice/radiation/officers", &[("officer", &vet)]).await;
    let meter = [
        ("meter_name", "the one in the scan room"),
        ("serial", "S1"),
        ("calibrated_on", "2026-01-01"),
        ("calibration_due", "2026-12-31"),
    ];
    owner.submit("/practice/radiation/meters", &meter).await;
    let meters = limbledger::scintigraphy::store::meters(test.app.db.read()).await.unwrap();
    let meter = meters[0].id.to_string();

    let mut technician = test.signed_in(Role::Technician).await;
    let order = format!("/visits/{}/diagnostics/usual", f.visit);
    technician.submit(&order, &[("study", "scan_whole")]).await;
    let order = technician.submit(&order, &[("study", "scan_trunk")]).await.location().to_owned();
    let injection = [
        ("nuclide", "Tc-99m"),
        ("agent", "oxidronate (HDP)"),
        ("unit", "MBq"),
        ("full", "5000"),
        ("full_at", "8:00"),
        ("left", "50"),
        ("left_at", "8:40"),
        ("inj_on", "2026-03-10"),
        ("inj_at", "8:30"),
    ];
    let rate = [
        ("read_on", "2026-03-11"),
        ("read_at", "8:50"),
        ("meter", meter.as_str()),
        ("distance", "1m"),
        ("spot", "elbow"),
        ("rate", "4"),
        ("rate_unit", "usv"),
    ];
    let region =
        [("part", "sacroiliac joint"), ("protocol", "dorsal"), ("left_counts", "900"), ("left_pixels", "90")];
    let spill = [
        ("what", "spill"),
        ("spill_on", "2026-03-10"),
        ("spill_at", "9:00"),
        ("spill_where", "the corridor"),
        ("spill_done", "wiped and measured"),
    ];
    let all: [(&str, &[(&str, &str)]); 4] =
        [("injection", &injection), ("rate", &rate), ("region", &region), ("spill", &spill)];
    for (form, fields) in all {
        let answer = technician.submit(&format!("{order}/scan/{form}"), fields).await;
        assert!(answer.status.is_redirection(), "{form}: {:?}", answer.texts(".errors li"));
    }
    let id = order.rsplit('/').next().and_then(|id| id.parse().ok()).unwrap();
    let (entries, _) = record::results_of_order(test.app.db.read(), id).await.unwrap();
    entries.iter().map(|entry| format!("{order}/scan?amend={}", entry.id)).collect()
}

/// A programme of which the yard told a sign, a prescription for a foot, and a programme of the practice's own.
async fn on_its_way(test: &TestApp, f: &Fixture) {
    let mut vet = test.signed_in_as("Orla Test").await;
    let fields = [("template", "sdft_moderate"), ("start", "2026-03-02")];
    let at = vet.submit(&format!("/visits/{}/programme", f.visit), &fields).await.location().to_owned();
    let told = [
        ("done", "less"),
        ("signs", "heat"),
        ("told_on", "2026-03-10"),
        ("told_by", "Corra Test"),
        ("told_words", "warm since yesterday"),
    ];
    let told = vet.submit(&format!("{at}/told"), &told).await;
    assert!(told.status.is_redirection(), "{:?}", told.texts(".errors li"));
    let shod = [("site", "RF"), ("farriery_shoe", "egg bar"), ("farriery_next", "2026-04-20")];
    let shod = vet.submit(&format!("/visits/{}/procedures/farriery", f.visit), &shod).await;
    assert!(shod.status.is_redirection(), "{:?}", shod.texts(".errors li"));
    let own = Own {
        id: OwnProgrammeId::new(),
        name: "Quicker".into(),
        ground: String::new(),
        source: "own cases".into(),
        steps: "7 | 10 | 0 | 0 | walk".into(),
        in_use: true,
        version: 1,
    };
    let mut tx = test.app.db.write().await.unwrap();
    limbledger::programmes::store::insert_own(&mut tx, &own, test.owner, test.now()).await.unwrap();
    tx.commit().await.unwrap();
}

/// A medicine that was given, a risk, and a safe with a bottle in it. Gives the pages of rows and of medicines.
async fn care(test: &TestApp, f: &Fixture) -> Vec<String> {
    let mut vet = test.signed_in(Role::Vet).await;
    let weight = [("weight", "500"), ("method", "scale"), ("weighed_on", "2026-03-10")];
    vet.submit(&format!("/horses/{}/weights", f.horse), &weight).await;
    let row = "/practice/formulary/row?code=flunixin_inj";
    let page = vet.get(row).await;
    vet.fill(&page, "/practice/formulary/confirm", &[("read_in", "the data sheet")]).await;
    vet.submit(&format!("/horses/{}/risks", f.horse), &[("risk", "ppid")]).await;
    let given = [("row", "flunixin_inj"), ("how", "administered"), ("amount", "1.1"), ("reason", "in pain")];
    let care = format!("/visits/{}/care", f.visit);
    let answer = vet.submit(&care, &given).await;
    assert!(answer.status.is_redirection(), "{:?}", answer.texts(".error, .errors li"));
    test.signed_in(Role::Owner)
        .await
        .submit("/practice/stock", &[("name", "The safe"), ("kind", "safe")])
        .await;
    let safe = limbledger::stock::store::stores(test.app.db.read()).await.unwrap()[0].id;
    let receipt = [("what", "receipt"), ("medicine", "butorphanol"), ("strength", "10"), ("ml", "10")];
    let answer = vet.submit(&format!("/practice/stock/{safe}/lines"), &receipt).await;
    assert!(answer.status.is_redirection(), "{:?}", answer.texts(".error"));
    charged(test, f, &mut vet).await;
    let medicines = limbledger::care::store::medicines(test.app.db.read(), f.horse).await.unwrap();
    let competition = format!(
        "/horses/{}/competition?event=2026-04-18&set={}&entry={}",
        f.horse,
        competition_rules(test, &mut vet).await,
        medicines[0].entry
    );
    vec![
        competition,
        format!("{care}?row=flunixin_inj"),
        format!("{care}?amend={}", medicines[0].entry),
        row.to_owned(),
        "/practice/formulary/row?code=ketoprofen_iv".to_owned(),
        "/practice/formulary/row".to_owned(),
    ]
}

/// Prices, and a line of one's own that waits to be handed over. The visit is to be looked over.
async fn charged(test: &TestApp, f: &Fixture, vet: &mut Browser) {
    let mut tx = test.app.db.write().await.unwrap();
    let now = test.now();
    limbledger::charges::store::keep_currency(&mut tx, "EUR", test.owner, now).await.unwrap();
    let price = |code: &str, charge: &str, unit| limbledger::charges::store::Price {
        id: limbledger::ids::PriceId::new(),
        code: code.into(),
        words: code.into(),
        charge: charge.into(),
        of_what: String::new(),
        up_to_km: None,
        unit,
        minor: 6000,
        tax: String::new(),
        valid_from: "2026-01-01".parse().unwrap(),
        ends_on: None,
    };
    let visit = price("V1", "visit", Unit::Each);
    for price in [&visit, &price("M1", "medicine", Unit::Ml)] {
        limbledger::charges::store::insert_price(&mut tx, price, test.owner, now).await.unwrap();
    }
    tx.commit().await.unwrap();
    let (price, payer) = (visit.id.to_string(), f.client.to_string());
    let own = [("own_price", price.as_str()), ("own_quantity", "1"), ("own_payer", payer.as_str())];
    let answer = vet.submit(&format!("/visits/{}/charges/own", f.visit), &own).await;
    assert!(answer.status.is_redirection(), "{:?}", answer.texts(".error, .errors li"));
}

/// Rules of a body, one of them about what the horse was given. Gives their set.
async fn competition_rules(test: &TestApp, vet: &mut Browser) -> RuleSetId {
    let set = [
        ("name", "Medication"),
        ("body", "The society"),
        ("jurisdiction", "UK"),
        ("edition", "2026"),
        ("valid_from", "2026-01-01"),
        ("source", "its handbook"),
        ("read_on", "2026-03-01"),
    ];
    vet.submit("/practice/competition", &set).await;
    let set = limbledger::competition::store::sets(test.app.db.read()).await.unwrap()[0].id;
    let rule = [("medicine", "flunixin"), ("kind", "detection"), ("hours", "144"), ("rule_source", "page 4")];
    let answer = vet.submit(&format!("/practice/competition/{set}/restrictions"), &rule).await;
    assert!(answer.status.is_redirection(), "{:?}", answer.texts(".error, .errors li"));
    set
}

/// A file that waits, one that is to be looked at and one that was entered; a calendar with an address. Gives the pages
/// where two clients and two horses are held beside each other.
async fn desk_work(test: &TestApp, f: &Fixture, beside: HorseId) -> Vec<String> {
    let mut owner = test.signed_in(Role::Owner).await;
    import(&mut owner, "Client,Horse\nWaiting Test,Plover\n").await;
    let looked_at = import(&mut owner, "Client,Horse\nCorra Test,Sandpiper\n").await;
    read_rows(&mut owner, &looked_at).await;
    let decide = format!("{looked_at}/decide");
    let page = owner.get(&looked_at).await;
    owner.fill(&page, &decide, &[("likely", "new")]).await;
    let entered = import(&mut owner, "Client,Horse\nHazel Importson,Whimbrel\n").await;
    read_rows(&mut owner, &entered).await;
    let page = owner.get(&entered).await;
    let answer = owner.fill(&page, &format!("{entered}/run"), &[]).await;
    assert!(answer.status.is_redirection(), "{:?}", answer.texts(".errors li"));
    let other = test.client("Second Test", "0555 77").await;
    vec![
        format!("/clients/{}/merge?with={other}", f.client),
        format!("/horses/{}/merge?with={beside}", f.horse),
        format!("/horses/{}/contacts?follow_up={}", f.horse, f.follow_up),
    ]
}

/// A stop that two horses share, a mark on the yard, and somebody who is to be told of another time. Gives the page of
/// the stop.
async fn front_desk(test: &TestApp, f: &Fixture) -> String {
    let mut owner = test.signed_in(Role::Owner).await;
    let mark = [("kind", "suspected"), ("from_on", "2026-03-11"), ("reason", "a cough")];
    owner.submit(&format!("/yards/{}/biosecurity", f.yard), &mark).await;
    let record = format!("/horses/{}/record", f.horse);
    owner.submit(&format!("{record}/holds"), &[("reason", "a complaint")]).await;
    let asked = [("asked_by", "Corra Test"), ("how", "letter"), ("asked_on", "2026-03-10")];
    owner.submit(&format!("{record}/copies"), &asked).await;
    let stop = hex(limbledger::ids::StopId::new());
    let (told, vet, now) = (hex(limbledger::ids::TellId::new()), hex(test.vet), test.now().0);
    let mut sql = format!("insert into stop (id, made_by, made_at) values ({stop}, {vet}, {now});");
    for (name, minute) in [("Marram", 0), ("Fern", 45)] {
        let horse = test.horse(name).await;
        let visit = test.visit(horse, test.vet, "2026-03-13", (9, minute), State::Booked).await;
        sql = format!("{sql} update visit set stop_id = {stop} where id = {};", hex(visit));
        if minute == 0 {
            sql = format!(
                "{sql} insert into to_tell (id, visit_id, client_id, kind, was_at, by_id, at)
                 values ({told}, {}, {}, 'moved', {now}, {vet}, {now});",
                hex(visit),
                hex(f.client)
            );
        }
    }
    run(test, &sql).await;
    let id: limbledger::ids::StopId =
        sqlx::query_scalar("select id from stop").fetch_one(test.app.db.read()).await.unwrap();
    format!("/stops/{id}")
}

/// A laboratory, a biopsy that was taken and sent, and blood with its CK. Gives the pages where each is amended, and the
/// form of a biopsy with its muscles proposed.
async fn samples(test: &TestApp, f: &Fixture) -> Vec<String> {
    let lab = [("name", "Harbour Lab"), ("range_unit", "U/L"), ("in_use", "yes"), ("arrives", "mon")];
    test.signed_in(Role::Owner).await.submit("/practice/laboratories", &lab).await;
    let mut technician = test.signed_in(Role::Technician).await;
    let visit = format!("/visits/{}/diagnostics", f.visit);
    let biopsy = [("study", "muscle_biopsy"), ("suspicion", "emnd"), ("item", "BX_SACRO"), ("when", "now")];
    let biopsy = id_of(technician.submit(&visit, &biopsy).await.location());
    let taken = [
        ("item", "BX_SACRO"),
        ("sample_side", "neither"),
        ("method", "open biopsy"),
        ("taken_on", "2026-03-11"),
        ("taken_at", "8:50"),
        ("taken_by", "Vala Test"),
    ];
    technician.submit(&format!("/diagnostics/{biopsy}/samples"), &taken).await;
    let sent = [("sent_on", "2026-03-11"), ("sent_to", "Harbour Lab")];
    technician.submit(&format!("/diagnostics/{biopsy}/parcels"), &sent).await;
    let blood = [("study", "blood_muscle"), ("item", "CK"), ("when", "now")];
    let blood = id_of(technician.submit(&visit, &blood).await.location());
    let ck = [
        ("enzyme", "CK"),
        ("amount", "220"),
        ("unit", "U/L"),
        ("drawn_on", "2026-03-11"),
        ("drawn_at", "8:00"),
        ("drawn_when", "before"),
        ("measured_by", "Harbour Lab"),
    ];
    technician.submit(&format!("/diagnostics/{blood}/enzymes"), &ck).await;
    let mut pages = vec![format!("{visit}/new?study=muscle_biopsy&suspicion=emnd")];
    for order in [biopsy, blood] {
        let (entries, _) =
            record::results_of_order(test.app.db.read(), order.parse().unwrap()).await.unwrap();
        pages.extend(entries.iter().map(|entry| format!("/diagnostics/{order}/samples?amend={}", entry.id)));
    }
    assert_eq!(pages.len(), 4, "a sample, a parcel and an enzyme were entered");
    pages
}

/// The id at the end of an address.
fn id_of(address: &str) -> String {
    address.rsplit('/').next().unwrap().to_owned()
}

/// A picture that waits for a person, and equipment that may send more.
async fn arrival(test: &TestApp) {
    let (object, vet) = (hex(EntryId::new()), hex(test.vet));
    let sql = format!(
        "insert into dicom_caller (ae_title, note, added_by, added_at) values ('XRAY1', 'the room', {vet}, 0);
         insert into attachment (sha256, kind, bytes, created_at)
         values ('{:064}', 'application/dicom', 1, 0);
         insert into dicom_object (id, sop_instance_uid, sha256, transfer_syntax, sop_class, modality, patient_name,
                                   received_at, calling_ae, source)
         values ({object}, '2.25.2', '{:064}', '1.2.840.10008.1.2', '1.2.840.10008.5.1.4.1.1.1', 'DX',
                 'Test^Testhorse', 0, 'XRAY1', 'network');",
        1,
        1
    );
    run(test, &sql).await;
}

/// A block a few minutes ago, with leave for it.
async fn block(test: &TestApp, story: &Story<'_>, visit: VisitId) -> EntryId {
    let mut consent = Body::new(Kind::Consent);
    (consent.code, consent.present) = (Some("blocks".into()), Some(true));
    (consent.held_by, consent.value) = (Some("Anna Marsh".into()), Some("by phone".into()));
    story.say(visit, consent).await;
    let mut block = Body::new(Kind::Block);
    (block.code, block.limb) = (Some("PDN".into()), Some("LF".into()));
    let at = Some(test.now().plus_minutes(-7));
    block.given = Some(Given { volume_ml: Some(1.5), at, ..Given::default() });
    story.say(visit, block).await
}

async fn hand_over(test: &TestApp, visit: VisitId, from: StaffId) {
    let (id, to, now) = (hex(HandoverId::new()), hex(test.vet), test.now().0);
    let sql = format!(
        "insert into handover (id, visit_id, from_id, to_id, line, offered_at)
         values ({id}, {}, {}, {to}, 'I am away until Monday.', {now})",
        hex(visit),
        hex(from)
    );
    run(test, &sql).await;
}

/// A horse that is gone, with something still open.
async fn sold(test: &TestApp) {
    let horse = test.horse("Sallow").await;
    let (id, vet, now) = (hex(limbledger::ids::FollowUpId::new()), hex(test.vet), test.now().0);
    let sql = format!(
        "insert into follow_up (id, horse_id, due_on, what, created_by, created_at)
         values ({id}, {0}, '2026-03-20', 'recheck', {vet}, {now});
         update horse set status = 'sold', status_on = '2026-03-01' where id = {0}",
        hex(horse)
    );
    run(test, &sql).await;
}
