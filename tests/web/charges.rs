//! What a visit is charged: proposed from the record at the practice's prices, gone over, handed over once, reversed.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    record::{Body, Dosed, Kind, NewEntry},
};
use serde_json::json;

use crate::support::{Browser, Fixture, Page, TestApp, record::Story};

const PRICES: &str = "/practice/prices";
const HANDING: &str = "/practice/charges";
const AGAIN: [(&str, &str); 1] = [("submission", "0195dd1c-0000-7000-8000-000000000001")];

/// Fields as they are typed.
type Typed<'a> = &'a [(&'a str, &'a str)];

async fn run(test: &TestApp, sql: &str) -> sqlx::Result<()> {
    let mut tx = test.app.db.write().await.unwrap();
    sqlx::raw_sql(sqlx::AssertSqlSafe(sql.to_owned())).execute(&mut *tx).await?;
    tx.commit().await.unwrap();
    Ok(())
}

fn hex(id: impl std::fmt::Display) -> String {
    format!("x'{}'", id.to_string().replace('-', ""))
}

/// A price of the list, as the owner types it.
async fn price(owner: &mut Browser, code: &str, charge: &str, price: &str, more: &[(&str, &str)]) -> Page {
    let mut fields = vec![
        ("code", code),
        ("words", code),
        ("charge", charge),
        ("price", price),
        ("valid_from", "2026-01-01"),
    ];
    fields.retain(|(name, _)| !more.iter().any(|(over, _)| over == name));
    fields.extend_from_slice(more);
    owner.submit(PRICES, &fields).await
}

fn block(code: &str) -> Body {
    Body { code: Some(code.into()), limb: Some("LF".into()), ..Body::new(Kind::Block) }
}

/// A medicine that was given: `ml` of it, and so much wasted.
fn given(row: &str, name: &str, ml: f64, waste: f64) -> Body {
    let dosed: Dosed = serde_json::from_value(json!({
        "how": "administered", "medicine": name, "name": name, "group": "nsaid", "route": "IV",
        "form": "injection", "row": row, "source": "a label", "mg": 550.0, "mg_per_ml": 50.0, "ml": ml,
        "waste_ml": waste, "at": 0,
    }))
    .unwrap();
    Body { dosed: Some(Box::new(dosed)), ..Body::new(Kind::Treatment) }
}

/// The lines that a page proposes, as words.
fn proposed(page: &Page) -> Vec<String> {
    page.texts(".proposed .said")
}

/// The number under which a page has a proposed line.
fn number(page: &Page, words: &str) -> usize {
    let at = proposed(page).iter().position(|line| line.contains(words));
    at.unwrap_or_else(|| panic!("{words} is not among {:?}", proposed(page))) + 1
}

/// A horse at a yard 7.2 km of road away, whose owner pays, and prices for some of what was done.
async fn set_up(test: &TestApp) -> (Fixture, Browser) {
    let f = Fixture::new(test).await;
    let sql = format!(
        "insert into practice_place (id, lat, lon) values (1, 46.0, -30.0);
         update yard set lat = 46.05, lon = -30.0; update party set pays = 1;
         update client set name = '=Corra Test' where id = {}",
        hex(f.client)
    );
    run(test, &sql).await.unwrap();
    let mut owner = test.signed_in(Role::Owner).await;
    let early = price(&mut owner, "V1", "visit", "60", &[]).await;
    assert_eq!(early.texts(".errors li"), ["Keep the currency first."]);
    let currency = "/practice/prices/currency";
    let wrong = owner.submit(currency, &[("currency", "euro")]).await;
    assert!(wrong.status == StatusCode::UNPROCESSABLE_ENTITY && wrong.values_of("currency") == ["euro"]);
    assert!(owner.submit(currency, &[("currency", "eur")]).await.status.is_redirection());
    assert_eq!(owner.submit(currency, &[("currency", "usd")]).await.status, StatusCode::CONFLICT);
    let kept: [(&str, &str, &str, Typed<'_>); 7] = [
        ("V1", "visit", "60", &[("tax", "standard")]),
        ("Z10", "call_out", "25.00", &[("up_to_km", "10")]),
        ("Z30", "call_out", "40.00", &[("up_to_km", "30")]),
        ("B1", "block", "45", &[]),
        ("B2", "block", "55", &[("of", "PDN")]),
        ("R1", "radiograph", "38", &[]),
        ("M1", "medicine", "2,45", &[("of", "flunixin_inj"), ("unit", "ml")]),
    ];
    for (code, charge, amount, more) in kept {
        let answer = price(&mut owner, code, charge, amount, more).await;
        assert!(answer.status.is_redirection(), "{code}: {:?}", answer.texts(".errors li"));
    }
    (f, owner)
}

#[tokio::test]
async fn a_visit_is_charged_from_its_record_gone_over_handed_over_once_and_put_right() {
    let test = TestApp::new().await;
    let (f, mut owner) = set_up(&test).await;
    refuses_wrong_prices(&mut owner).await;
    let story = Story { test: &test, horse: f.horse };
    let pdn = story.say(f.visit, block("PDN")).await;
    story.say(f.visit, block("ASN")).await;
    let flunixin = story.say(f.visit, given("flunixin_inj", "flunixin", 11.0, 0.5)).await;
    story.say(f.visit, given("detomidine_inj", "detomidine", 0.5, 0.0)).await;
    let mut vet = test.signed_in(Role::Vet).await;
    vet.submit(&format!("/diagnostics/{}/taken", f.order), &[]).await;
    let at = format!("/visits/{}/charges", f.visit);
    let page = proposes(&mut vet, &f, &at).await;
    is_gone_over(&mut vet, &at, &page).await;
    let mut desk = test.signed_in(Role::Desk).await;
    is_handed_over_once(&test, &mut desk).await;
    let bytes = desk.raw(&format!("{HANDING}/1.csv")).await;
    let b2 = reads_as_a_table(&bytes, &f);

    // The record goes on: more of a medicine, and a block that was none.
    let more = NewEntry::new(f.visit, given("flunixin_inj", "flunixin", 12.5, 0.0)).superseding(flunixin);
    story.add(more).await;
    let gone = Body { reason: Some("another limb".into()), ..Body::new(Kind::Withdrawal) };
    story.add(NewEntry::new(f.visit, gone).superseding(pdn)).await;
    is_reversed_in_the_next_batch(&mut desk, &at, &b2).await;

    // What was handed over stays as it was, whatever changes; and nothing of it is in the record.
    run(&test, "update client set name = 'Corra Married'").await.unwrap();
    replaces_a_price(&mut owner).await;
    assert_eq!(desk.raw(&format!("{HANDING}/1.csv")).await, bytes);
    stays(&test, &f).await;
    let report = vet.get(&format!("/visits/{}/report", f.visit)).await;
    assert!(report.status == StatusCode::OK && !report.text.contains("EUR"));
    let audit = owner.get("/practice/audit").await.texts(".lines li").join("|");
    assert!(audit.contains("charges handed over") && audit.contains("batch 2, 1 line"), "{audit}");
    for (role, path) in [(Role::Technician, at.as_str()), (Role::Vet, HANDING), (Role::Desk, PRICES)] {
        assert_eq!(test.signed_in(role).await.get(path).await.status, StatusCode::FORBIDDEN, "{path}");
    }
}

/// A price says what it is of, once for any time.
async fn refuses_wrong_prices(owner: &mut Browser) {
    let wrong: [(&str, &str, Typed<'_>, &str); 6] = [
        ("visit", "60", &[], "charge"),
        ("visit", "60", &[("unit", "ml")], "unit"),
        ("visit", "60", &[("up_to_km", "10")], "up_to_km"),
        ("flexion", "12.505", &[], "price"),
        ("block", "60", &[("of", "no such block")], "of"),
        ("flexion", "12", &[("valid_from", "31 Feb 2026")], "valid_from"),
    ];
    for (charge, amount, more, field) in wrong {
        let answer = price(owner, "X", charge, amount, more).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{charge} {more:?}");
        assert!(answer.has(&format!("#{field}-error")), "{field}: {:?}", answer.texts(".errors li"));
    }
}

/// Seven lines, each with its price or why it has none, and the same number where the visit is signed.
async fn proposes(vet: &mut Browser, f: &Fixture, at: &str) -> Page {
    let page = vet.get(at).await;
    let lines = proposed(&page);
    let words = lines.join("|");
    assert_eq!(lines.len(), 7, "{words}");
    for expected in [
        "Visit 1 recorded; V1: 60.00 EUR each",
        "Call-out: Test Yard, 7.2 km one way 1 recorded; Z10: 25.00 EUR",
        "left fore 1 recorded; B2: 55.00 EUR each",
        "left fore 1 recorded; B1: 45.00 EUR each",
        "Radiograph, each view: fetlock 1 recorded; R1: 38.00 EUR",
        "flunixin, IV, administered, with 0.5 ml wasted 11.5 ml recorded; M1: 2.45 EUR each ml",
        "administered 0.5 ml recorded. No price is kept for medicine: detomidine, IV, administered, in ml.",
    ] {
        assert!(words.contains(expected), "{expected} is not in {words}");
    }
    let sign = vet.get(&format!("/visits/{}/sign", f.visit)).await;
    assert_eq!(sign.texts("#charges"), ["Charges: 7 lines to look over"]);

    page
}

/// Wrong quantities are told beside their field, and what was typed stays; what has no price stays proposed.
async fn is_gone_over(vet: &mut Browser, at: &str, page: &Page) {
    let (spared, drug) = (number(page, "B1"), number(page, "flunixin"));
    let (leave, quantity) = (format!("leave-{spared}"), format!("quantity-{drug}"));
    let typed = [(leave.as_str(), "part of the visit"), (quantity.as_str(), "0")];
    let wrong = vet.fill(page, at, &typed).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.has(&format!("#{quantity}-error")) && wrong.values_of(&leave) == ["part of the visit"]);
    let typed = [(leave.as_str(), "part of the visit"), (quantity.as_str(), "10")];
    let answer = vet.fill(page, at, &typed).await;
    assert_eq!(answer.location(), at, "{:?}", answer.texts(".errors li"));
    assert_eq!(vet.fill(page, at, &AGAIN).await.status, StatusCode::CONFLICT, "gone over by another page");
    let page = vet.get(at).await;
    assert_eq!(proposed(&page).len(), 1, "what has no price stays");
    let kept = page.texts("#kept + ul li").join("|");
    assert!(kept.contains("10 ml × 2.45 = 24.50 EUR, =Corra Test pays"), "{kept}");
    assert!(kept.contains("left out: part of the visit"), "{kept}");
}

/// By the desk, once however often it is sent.
async fn is_handed_over_once(test: &TestApp, desk: &mut Browser) {
    assert_eq!(desk.get("/").await.texts("#charges"), ["Charges: 5 lines to hand over"]);
    let waiting = desk.get(HANDING).await;
    assert_eq!(waiting.texts("h3"), ["=Corra Test: 202.50 EUR"]);
    assert!(waiting.texts("button.primary").contains(&"Hand over 5 lines".to_owned()));
    let first = desk.fill(&waiting, HANDING, &[]).await;
    let second = desk.fill(&waiting, HANDING, &[]).await;
    assert_eq!((first.location(), first.status), (second.location(), second.status));
    assert_eq!((test.count("charge_batch").await, test.count("charge_handed").await), (1, 5));
    let stale = desk.fill(&waiting, HANDING, &AGAIN).await;
    assert_eq!(stale.status, StatusCode::UNPROCESSABLE_ENTITY, "nothing waits any more");
}

/// The file of a batch; gives the number of the line that is reversed later.
fn reads_as_a_table(bytes: &[u8], f: &Fixture) -> String {
    let rows = rows(bytes);
    assert_eq!(rows.len(), 5);
    let m1 = rows.iter().find(|row| row.get("code") == "M1").unwrap();
    for (column, value) in [
        ("batch", "1"),
        ("visit_on", "2026-03-11"),
        ("payer", "'=Corra Test"),
        ("horse", "Testhorse"),
        ("yard", "Test Yard"),
        ("quantity", "10"),
        ("unit", "ml"),
        ("unit_price", "2.45"),
        ("amount", "24.50"),
        ("currency", "EUR"),
        ("tax_code", ""),
        ("reverses", ""),
    ] {
        assert_eq!(m1.get(column), value, "{column}");
    }
    assert_eq!(m1.get("payer_id"), f.client.to_string());
    assert_eq!(m1.get("visit_id"), f.visit.to_string());
    let mut numbers: Vec<i64> = rows.iter().map(|row| row.get("line").parse().unwrap()).collect();
    numbers.sort_unstable();
    assert_eq!(numbers, [1, 2, 3, 4, 5]);
    rows.iter().find(|row| row.get("code") == "B2").unwrap().get("line").to_owned()
}

/// What is recorded beyond the charge is proposed, what is recorded no more is said, until its line is reversed.
async fn is_reversed_in_the_next_batch(desk: &mut Browser, at: &str, b2: &str) {
    let page = desk.get(at).await;
    assert!(proposed(&page).join("|").contains("1 ml recorded; M1"), "{:?}", proposed(&page));
    let less = page.texts(".less").join("|");
    assert!(less.contains("left fore: it is recorded no more"), "{less}");
    let reverse = page.attrs("#kept + ul a", "href");
    assert_eq!(reverse.len(), 6, "a line each, and the one that was left out");
    let line = page
        .read(|html| {
            let li = scraper::Selector::parse("#kept + ul li").unwrap();
            html.select(&li)
                .find(|li| li.text().collect::<String>().contains("= 55.00"))
                .and_then(|li| li.value().attr("id").map(|id| id.trim_start_matches("line-").to_owned()))
        })
        .unwrap();
    let action = format!("{at}/{line}/reverse");
    assert!(desk.submit(&action, &[]).await.has("#reason-error"));
    let why = [("reason", "another limb")];
    assert!(desk.submit(&action, &why).await.status.is_redirection());
    assert_eq!(desk.submit(&action, &why).await.status, StatusCode::CONFLICT);
    let page = desk.get(at).await;
    assert!(!page.has(".less"), "the charge and the record agree");
    let waiting = desk.get(HANDING).await;
    assert_eq!(waiting.texts("h3"), ["=Corra Test: -55.00 EUR"]);
    desk.fill(&waiting, HANDING, &[]).await;
    let second = desk.raw(&format!("{HANDING}/2.csv")).await;
    let second = self::rows(&second);
    let told: Vec<_> = ["line", "quantity", "amount", "reverses"].map(|column| second[0].get(column)).into();
    assert_eq!(told, ["6", "-1", "-55.00", b2]);
}

/// From a day, once.
async fn replaces_a_price(owner: &mut Browser) {
    let from = [("ends_on", "2026-03-11"), ("new_price", "70")];
    let end = owner.get(PRICES).await.attrs("a[href*='?end=']", "href").remove(0);
    let id = end.split(['=', '#']).nth(1).unwrap().to_owned();
    assert!(owner.submit(&format!("{PRICES}/{id}/end"), &from).await.status.is_redirection());
    assert_eq!(owner.submit(&format!("{PRICES}/{id}/end"), &from).await.status, StatusCode::CONFLICT);
}

/// No line, price or batch is changed or taken away; two clients that are one are put together.
async fn stays(test: &TestApp, f: &Fixture) {
    for sql in [
        "update charge set quantity = 5",
        "delete from charge",
        "update charge_batch set csv = ''",
        "delete from charge_handed",
        "update price set minor = 1",
        "update price_currency set code = 'USD'",
        "insert into charge_batch (number, csv, by_id, at) select 9, '', id, 0 from staff limit 1",
    ] {
        assert!(run(test, sql).await.is_err(), "{sql}");
    }
    run(test, &format!("update charge set payer_id = {} where payer_id is not null", hex(f.client)))
        .await
        .unwrap();
}

/// A row of a file that was handed over.
struct Handed(std::collections::HashMap<String, String>);

impl Handed {
    fn get(&self, column: &str) -> &str {
        &self.0[column]
    }
}

fn rows(bytes: &[u8]) -> Vec<Handed> {
    csv::Reader::from_reader(bytes).deserialize().map(|row| Handed(row.unwrap())).collect()
}

/// A purchase examination, driven to in the night, and a copy that was given.
async fn went_at_night(test: &TestApp, f: &Fixture) {
    let zone = limbledger::practice::store::get(test.app.db.read()).await.unwrap().zone;
    let night = test.now().day(&zone).at(3, 0, &zone).0;
    let sql = format!(
        "update visit set kind = 'purchase_five' where id = {visit};
         insert into drive (visit_id, vet_id, from_key, to_key, minutes, arrived_at)
         values ({visit}, {vet}, 'practice', 'there', 35, {night});
         insert into record_copy (id, horse_id, asked_by, how, asked_on, by_id, at, given_on, given_how, given_by, given_at)
         values ({visit}, {horse}, 'An insurer', 'letter', '2026-03-11', {vet}, {now}, '2026-03-11', 'post', {vet}, {now});",
        visit = hex(f.visit),
        horse = hex(f.horse),
        vet = hex(test.vet),
        now = test.now().0
    );
    run(test, &sql).await.unwrap();
}

#[tokio::test]
async fn what_is_proposed_follows_the_visit_its_drive_and_whoever_owned_the_horse_then() {
    let test = TestApp::new().await;
    let (f, mut owner) = set_up(&test).await;
    for (code, charge, amount, more) in [
        ("P5", "purchase", "300", &[("of", "purchase_five")][..]),
        ("N1", "out_of_hours", "80", &[]),
        ("KM", "kilometres", "1.10", &[]),
        ("DM", "drive_minutes", "0.90", &[]),
        ("CP", "record_copy", "15", &[]),
        ("CE", "certificate", "20", &[]),
    ] {
        assert!(price(&mut owner, code, charge, amount, more).await.status.is_redirection(), "{code}");
    }
    went_at_night(&test, &f).await;
    let at = format!("/visits/{}/charges", f.visit);
    let words = proposed(&owner.get(&at).await).join("|");
    for expected in [
        "Purchase examination: five stages",
        "P5: 300.00",
        "Visit at night 1 recorded; N1",
        "7.228 km recorded; KM: 1.10 EUR each km",
        "35 min recorded; DM: 0.90 EUR each min",
        "Copy of the record: for An insurer, 11 Mar 2026 1 recorded; CP",
    ] {
        assert!(words.contains(expected), "{expected} is not in {words}");
    }
    // 0.05 degrees of latitude on a sphere of 6371.0088 km are 5.5597 km; with a road of 1.3 that is 7.2277 km.
    assert!(!words.contains("certificate"), "the record tells of none: {words}");

    // The horse changes hands: what was done before is for whoever owned it then.
    test.set_clock(test.now().plus_minutes(5));
    let buyer = test.client("Berta Buyer", "0555 9").await.to_string();
    let sold = [
        ("client", "Berta Buyer"),
        ("client_id", buyer.as_str()),
        ("role", "owner"),
        ("may", "pay"),
        ("instead", "yes"),
    ];
    assert!(owner.submit(&format!("/horses/{}/parties", f.horse), &sold).await.status.is_redirection());
    let page = owner.get(&at).await;
    let payer = page.form_fields(&at).into_iter().find(|(name, _)| name == "payer-1").unwrap().1;
    assert_eq!(payer, f.client.to_string());
    let all = page.texts("#payer-1 option");
    assert!(all.contains(&"Berta Buyer".to_owned()), "{all:?}");

    // Whoever pays is one of the horse's people; a line of one's own comes from the list.
    let own = format!("{at}/own");
    let stranger = test.client("A Stranger", "0555 8").await.to_string();
    let certificate = page.read(|html| {
        let options = scraper::Selector::parse("#own_price option").unwrap();
        let mut found = html.select(&options).filter(|o| o.text().collect::<String>().starts_with("CE "));
        found.next().and_then(|o| o.value().attr("value").map(str::to_owned)).unwrap()
    });
    let fields = |payer: &str| {
        [("own_price", certificate.clone()), ("own_quantity", "2".into()), ("own_payer", payer.to_owned())]
    };
    let wrong = fields(&stranger);
    let wrong: Vec<(&str, &str)> = wrong.iter().map(|(k, v)| (*k, v.as_str())).collect();
    assert!(owner.submit(&own, &wrong).await.has("#own_payer-error"));
    let right = fields(&buyer);
    let right: Vec<(&str, &str)> = right.iter().map(|(k, v)| (*k, v.as_str())).collect();
    assert!(owner.submit(&own, &right).await.status.is_redirection());
    let kept = owner.get(&at).await.texts("#kept + ul li").join("|");
    assert!(kept.contains("CE: 2 × 20.00 = 40.00 EUR, Berta Buyer pays"), "{kept}");
}
