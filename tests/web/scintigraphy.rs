//! A bone scan from outside: the injection, its clock, regions, and the gate that only a measurement opens.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    clock::{At, Day},
    diagnostics::store as orders,
    ids::VisitId,
    record,
    scintigraphy::store,
};

use crate::support::{Browser, PASSWORD, Page, TestApp, record::Story};

type Fields<'a> = &'a [(&'a str, &'a str)];

const LICENCE: Fields<'_> =
    &[("version", "1"), ("reference", "licence 7"), ("min_hours", "24"), ("max_usv_h", "5")];
const METER: Fields<'_> = &[
    ("meter_name", "scan room"),
    ("serial", "S1"),
    ("calibrated_on", "2026-01-01"),
    ("calibration_due", "2026-12-31"),
];
const INJECTION: Fields<'_> = &[
    ("nuclide", "Tc-99m"),
    ("agent", "oxidronate (HDP)"),
    ("unit", "MBq"),
    ("full", "5000"),
    ("full_at", "8:00"),
    ("left", "0"),
    ("left_at", "8:00"),
    ("inj_on", "2026-03-11"),
    ("inj_at", "8:00"),
];
const READING: Fields<'_> = &[
    ("read_on", "2026-03-12"),
    ("read_at", "8:00"),
    ("distance", "1m"),
    ("spot", "elbow"),
    ("rate", "4"),
    ("rate_unit", "usv"),
];

/// A horse with a bone scan ordered, in a practice that has entered nothing about radiation.
struct Case<'a> {
    story: Story<'a>,
    visit: VisitId,
    order: String,
    vet: Browser,
    owner: Browser,
}

/// `fields` with some said otherwise.
fn with<'a>(fields: &[(&'a str, &'a str)], over: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let kept = fields.iter().filter(|(name, _)| over.iter().all(|(other, _)| other != name));
    kept.chain(over).copied().collect()
}

fn at(day: &str, hour: i8, minute: i8) -> At {
    let zone = jiff::tz::TimeZone::get("Europe/Berlin").unwrap();
    day.parse::<Day>().unwrap().at(hour, minute, &zone)
}

impl<'a> Case<'a> {
    async fn bare(test: &'a TestApp) -> Self {
        let story = Story::new(test).await;
        let visit = story.visit("2026-03-11").await;
        let (vet, owner) = (test.signed_in(Role::Vet).await, test.signed_in(Role::Owner).await);
        let mut case = Case { story, visit, order: String::new(), vet, owner };
        case.order = case.ordered(visit).await;
        case
    }

    /// Of a practice that has entered its licence, its meter, and the vet as the officer.
    async fn new(test: &'a TestApp) -> Self {
        let mut case = Case::bare(test).await;
        case.set("", LICENCE).await;
        case.set("/officers", &[("officer", &test.vet.to_string())]).await;
        case.set("/meters", METER).await;
        case
    }

    /// Injected at eight on the eleventh; the clock stands at eight the next day.
    async fn injected(test: &'a TestApp) -> Self {
        let mut case = Case::new(test).await;
        case.taken("injection", INJECTION).await;
        case.wait(at("2026-03-12", 8, 0)).await;
        case
    }

    /// Until then; whoever was signed in comes in again.
    async fn wait(&mut self, until: At) {
        let test = self.story.test;
        test.set_clock(until);
        (self.vet, self.owner) = (test.signed_in(Role::Vet).await, test.signed_in(Role::Owner).await);
    }

    async fn ordered(&mut self, visit: VisitId) -> String {
        let way = format!("/visits/{visit}/diagnostics/usual");
        let answer = self.vet.submit(&way, &[("study", "scan_trunk")]).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".errors li"));
        answer.location().to_owned()
    }

    async fn set(&mut self, part: &str, fields: Fields<'_>) {
        let answer = self.owner.submit(&format!("/practice/radiation{part}"), fields).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{part}: {:?}", answer.texts(".errors li"));
    }

    async fn page(&mut self) -> Page {
        self.vet.get(&format!("{}/scan", self.order)).await
    }

    async fn send(&mut self, form: &str, fields: Fields<'_>) -> Page {
        self.vet.submit(&format!("{}/scan/{form}", self.order), fields).await
    }

    async fn taken(&mut self, form: &str, fields: Fields<'_>) {
        let answer = self.send(form, fields).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{form}: {:?}", answer.texts(".errors li"));
    }

    /// A reading with the only meter there is.
    async fn read(&mut self, over: Fields<'_>) {
        let meter = store::meters(self.story.test.app.db.read()).await.unwrap()[0].id.to_string();
        let fields = with(READING, over);
        let fields = with(&fields, &[("meter", &meter)]);
        self.taken("rate", &fields).await;
    }

    async fn release(&mut self) -> Page {
        self.send("release", &[("password", PASSWORD)]).await
    }

    /// The release is refused, with this among the reasons; nothing of it is in the record.
    async fn refused(&mut self, why: &str) {
        let answer = self.release().await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{why}");
        let reasons = answer.texts(".errors li");
        assert!(reasons.iter().any(|reason| reason.contains(why)), "{why}: {reasons:?}");
        assert_eq!(self.releases().await, 0);
    }

    async fn released(&mut self) {
        let answer = self.release().await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{:?}", answer.texts(".errors li"));
        assert_eq!(self.releases().await, 1);
    }

    async fn releases(&self) -> usize {
        let (standing, _) = record::results_of_order(self.story.test.app.db.read(), self.id()).await.unwrap();
        let is_release = |entry: &&record::Entry| {
            entry.body.as_ref().is_some_and(|body| body.code.as_deref() == Some("release"))
        };
        standing.iter().filter(is_release).count()
    }

    fn id(&self) -> limbledger::ids::OrderId {
        self.order.rsplit('/').next().unwrap().parse().unwrap()
    }

    /// The conditions of the gate: "met" or "not met", in their order.
    async fn gate(&mut self) -> Vec<String> {
        self.page().await.texts("#gate .state")
    }

    /// The newest entry of the order.
    async fn newest(&self) -> String {
        let (standing, _) = record::results_of_order(self.story.test.app.db.read(), self.id()).await.unwrap();
        standing.last().unwrap().id.to_string()
    }
}

#[tokio::test]
async fn a_scan_goes_from_the_injection_to_the_measured_release_and_onto_the_report() {
    let test = TestApp::new().await;
    let mut case = Case::bare(&test).await;
    let order = case.vet.get(&case.order.clone()).await;
    assert!(order.has(&format!("a[href='{}/scan']", case.order)), "the order leads to its scan");
    let missing = case.page().await.texts("#missing").join(" ");
    for what in ["reference", "minimum hours", "maximum dose rate", "officer", "meter"] {
        assert!(missing.contains(what), "{what} in {missing}");
    }
    case.set("", LICENCE).await;
    case.set("/officers", &[("officer", &test.vet.to_string())]).await;
    case.set("/meters", METER).await;
    case.taken("injection", INJECTION).await;
    let page = case.page().await;
    assert!(!page.has("#missing"), "nothing is missing any more");
    assert!(
        page.texts("#injection dd").join(" ").contains("5000 MBq of Tc-99m"),
        "{:?}",
        page.texts("#injection dd")
    );
    assert_eq!(page.texts(".head .state"), ["not released"]);
    assert_eq!(case.gate().await, ["not met", "not met", "not met", "not met"]);
    case.wait(at("2026-03-12", 8, 30)).await;
    case.read(&[]).await;
    assert_eq!(case.gate().await, ["met", "met", "met", "not met"], "only the signature is missing");
    case.released().await;
    let page = case.page().await;
    assert_eq!(page.texts(".head .state"), ["released"]);
    assert!(!page.has("#alarm") && !page.has("#password"));
    let report = case.vet.get(&format!("/visits/{}/report", case.visit)).await.texts("main").join("\n");
    for words in [
        "5000 MBq of Tc-99m",
        "11 Mar 2026, 08:00",
        "4 µSv/h at 1 m from the elbow",
        "scan room (S1)",
        "12 Mar 2026, 08:30",
        "licence 7",
        "Vala Test",
    ] {
        assert!(report.contains(words), "{words} in {report}");
    }
}

#[tokio::test]
async fn each_condition_shuts_the_gate_by_itself() {
    let test = TestApp::new().await;
    let mut case = Case::injected(&test).await;
    case.refused("The last reading of every point").await;
    case.read(&[("distance", "surface"), ("rate", "1")]).await;
    case.refused("The last reading of every point").await;

    case.read(&[("rate", "5.01")]).await;
    assert_eq!(case.gate().await, ["met", "not met", "met", "not met"]);
    case.refused("The last reading of every point").await;

    case.read(&[]).await;
    case.wait(at("2026-03-12", 7, 59)).await;
    assert_eq!(case.gate().await, ["not met", "met", "met", "not met"]);
    case.refused("minimum hours").await;
    case.wait(at("2026-03-12", 8, 0)).await;

    let wrong = case.send("release", &[("password", "not the password")]).await;
    assert!(wrong.has("#password-error"), "{:?}", wrong.texts(".errors li"));
    let mut technician = test.signed_in(Role::Technician).await;
    let way = format!("{}/scan/release", case.order);
    let other = technician.submit(&way, &[("password", PASSWORD)]).await;
    assert!(other.texts(".errors li").join(" ").contains("Only a responsible officer"));
    assert!(!technician.get(&format!("{}/scan", case.order)).await.has("#password"));
    assert_eq!(case.releases().await, 0);
    case.released().await;
    let again = case.release().await;
    assert_eq!(again.status, StatusCode::CONFLICT, "released once");
}

#[tokio::test]
async fn a_meter_out_of_calibration_on_the_day_of_the_reading_shuts_the_gate_for_good() {
    let test = TestApp::new().await;
    let mut case = Case::injected(&test).await;
    let meter = store::meters(test.app.db.read()).await.unwrap()[0].clone();
    let (id, version) = (meter.id.to_string(), meter.version.to_string());
    let expired = with(METER, &[("id", &id), ("version", &version), ("calibration_due", "2026-03-11")]);
    case.set("/meters", &expired).await;
    case.read(&[]).await;
    assert_eq!(case.gate().await, ["met", "met", "not met", "not met"]);
    case.refused("not in calibration").await;
    let again = with(METER, &[("id", &id), ("version", "2"), ("calibrated_on", "2026-03-12")]);
    case.set("/meters", &again).await;
    case.refused("not in calibration").await;
    case.read(&[]).await;
    case.released().await;
}

#[tokio::test]
async fn what_is_just_reached_is_enough_and_a_meter_due_that_day_still_counts() {
    let test = TestApp::new().await;
    let mut case = Case::injected(&test).await;
    let meter = store::meters(test.app.db.read()).await.unwrap()[0].clone();
    let (id, version) = (meter.id.to_string(), meter.version.to_string());
    let due = with(METER, &[("id", &id), ("version", &version), ("calibration_due", "2026-03-12")]);
    case.set("/meters", &due).await;
    // 0.5 mR/h is 5 µSv/h, the limit itself; the clock stands exactly 24 h after the injection.
    case.read(&[("rate", "0.5"), ("rate_unit", "mr")]).await;
    assert_eq!(case.gate().await, ["met", "met", "met", "not met"]);
    case.released().await;
}

#[tokio::test]
async fn the_last_reading_of_every_point_counts() {
    let test = TestApp::new().await;
    let mut case = Case::injected(&test).await;
    case.read(&[("read_at", "7:00"), ("spot", "ventrum"), ("rate", "9")]).await;
    case.read(&[("spot", "elbow"), ("rate", "2")]).await;
    case.refused("every point").await;
    // An earlier reading that is entered later is not the last one.
    case.read(&[("read_at", "6:00"), ("spot", "ventrum"), ("rate", "1")]).await;
    case.refused("every point").await;
    case.read(&[("spot", "ventrum"), ("rate", "3")]).await;
    case.released().await;
    let page = case.page().await.texts("#released").join(" ");
    assert!(page.contains("3 µSv/h at 1 m from the ventrum"), "the highest is what it rests on: {page}");
}

#[tokio::test]
async fn an_expected_time_is_shown_with_its_reason_and_opens_nothing() {
    let test = TestApp::new().await;
    let mut case = Case::injected(&test).await;
    let terms = [("version", "2"), ("reference", "licence 7"), ("min_hours", "2"), ("max_usv_h", "2.5")];
    case.set("", &terms).await;
    let before = case.page().await.texts("#expected").join(" ");
    assert!(before.contains("11 Mar 2026, 10:00") && before.contains("minimum hours"), "{before}");
    // Worked by hand: 25 µSv/h at 3 h fall to 2.5 µSv/h at 22.95 h with a half-life of 6.0067 h, 22.96 h with 6.0072 h.
    case.read(&[("read_on", "2026-03-11"), ("read_at", "11:00"), ("spot", "ventrum"), ("rate", "25")]).await;
    let page = case.page().await.texts("#expected").join(" ");
    assert!(page.contains("22.96 h after the injection") && page.contains("12 Mar 2026, 06:58"), "{page}");
    assert!(page.contains("only a measurement opens the gate"), "{page}");
    assert_eq!(case.gate().await[1], "not met", "the time has come, and nothing was measured");
    case.refused("every point").await;
}

#[tokio::test]
async fn until_the_practice_has_entered_its_licence_nothing_is_released() {
    let test = TestApp::new().await;
    let mut case = Case::bare(&test).await;
    case.taken("injection", INJECTION).await;
    case.set("/meters", METER).await;
    case.wait(at("2026-03-20", 8, 0)).await;
    case.read(&[("rate", "0")]).await;
    case.set("/officers", &[("officer", &test.vet.to_string())]).await;
    case.refused("The practice has not entered").await;
    let form = case.owner.get("/practice/radiation").await;
    for field in ["reference", "min_hours", "max_usv_h"] {
        assert_eq!(form.values_of(field), [""], "{field} has no default");
    }
    case.set("", LICENCE).await;
    case.released().await;
}

#[tokio::test]
async fn a_reading_above_the_limit_after_the_release_is_loud() {
    let test = TestApp::new().await;
    let mut case = Case::injected(&test).await;
    case.read(&[]).await;
    case.released().await;
    case.wait(at("2026-03-12", 10, 0)).await;
    case.read(&[("read_at", "9:00"), ("rate", "5")]).await;
    assert!(!case.page().await.has("#alarm"), "at the limit is within it");
    case.read(&[("read_at", "9:30"), ("spot", "perineum"), ("rate", "5.5")]).await;
    let alarm = case.page().await.texts("#alarm").join(" ");
    assert!(
        alarm.contains("5.5 µSv/h") && alarm.contains("perineum") && alarm.contains("limit is 5"),
        "{alarm}"
    );
}

#[tokio::test]
async fn a_release_is_taken_back_by_an_officer_with_a_reason_that_stays_and_by_no_other_way() {
    let test = TestApp::new().await;
    let mut case = Case::injected(&test).await;
    case.read(&[]).await;
    case.released().await;
    let release = case.newest().await;
    let way = format!("{}/scan/entries/{release}/withdraw", case.order);
    let why = [("why_back", "the wrong horse was measured")];
    let mut technician = test.signed_in(Role::Technician).await;
    let other = technician.submit(&way, &why).await;
    assert!(
        other.texts("#why_back-error").join(" ").contains("Only a responsible officer"),
        "{}",
        other.status
    );
    let aside = format!("{}/results/{release}/withdraw", case.order);
    assert_eq!(case.vet.submit(&aside, &why).await.status, StatusCode::CONFLICT);
    let bare = case.vet.submit(&way, &[]).await;
    assert!(bare.has("#why_back-error"), "a reason is needed");
    assert_eq!(case.releases().await, 1);
    assert_eq!(case.vet.submit(&way, &why).await.status, StatusCode::SEE_OTHER);
    assert_eq!(case.releases().await, 0);
    assert!(case.page().await.texts("#gone").join(" ").contains("the wrong horse was measured"));
    let steps = case.vet.get(&case.order.clone()).await.texts("details:last-of-type li").join(" ");
    assert!(steps.contains("release after the scan taken back"), "{steps}");
}

#[tokio::test]
async fn what_a_release_rests_on_cannot_be_changed_silently() {
    let test = TestApp::new().await;
    let mut case = Case::injected(&test).await;
    case.read(&[]).await;
    let reading = case.newest().await;
    case.released().await;
    let way = format!("entries/{reading}/withdraw");
    case.taken(&way, &[("why_back", "the background was read")]).await;
    let alarm = case.page().await.texts("#alarm").join(" ");
    assert!(alarm.contains("rests on was amended or taken back"), "{alarm}");
}

#[tokio::test]
async fn a_horse_that_is_not_released_stays_on_the_worklist_even_when_its_order_is_closed() {
    let test = TestApp::new().await;
    let mut case = Case::injected(&test).await;
    let order = case.vet.get(&case.order.clone()).await;
    let close = format!("{}/close", case.order);
    case.vet.fill(&order, &close, &[("closed", "the pictures are enough")]).await;
    let row = format!("ul#release.lines:has(a[href='{}'])", case.order);
    assert!(case.vet.get("/diagnostics").await.has(&row));
    assert!(case.vet.get("/").await.text.contains("Horses to release after a bone scan"));
    case.read(&[]).await;
    case.released().await;
    assert!(!case.vet.get("/diagnostics").await.has(&row));
    assert!(orders::undone(test.app.db.read()).await.unwrap().is_empty());
}

#[tokio::test]
async fn activity_decays_between_the_syringe_and_the_injection() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    case.wait(at("2026-03-11", 23, 0)).await;
    let horse = format!("/horses/{}/weights", case.story.horse);
    let weight = [("weight", "500"), ("method", "scale"), ("weighed_on", "2026-03-10")];
    assert_eq!(case.vet.submit(&horse, &weight).await.status, StatusCode::SEE_OTHER);
    // 5000 MBq by the fractions that 6.0072 h leave after 2, 4, 6 and 12 h: 0.793920, 0.630310, 0.500416, 0.250416.
    let rows = [
        ("10:00", "3970", "7.9"),
        ("12:00", "3152", "6.3"),
        ("14:00", "2502", "5"),
        ("20:00", "1252", "2.5"),
    ];
    let mut was = String::new();
    for (at, mbq, per_kg) in rows {
        let over = [("inj_at", at), ("left_at", at), ("was", was.as_str()), ("why", "another time")];
        case.taken("injection", &with(INJECTION, &over)).await;
        was = case.newest().await;
        let said = case.page().await.texts("#injection dd").join("\n");
        assert!(said.contains(&format!("{mbq} MBq of Tc-99m")), "{mbq} in {said}");
        assert!(said.contains(&format!("{per_kg} MBq/kg, by 500 kg")), "{per_kg} in {said}");
    }
    let gone = case.page().await.texts("#gone li").len();
    assert_eq!(gone, 3, "amended, not overwritten");
    let twice = case.send("injection", INJECTION).await;
    assert_eq!(twice.status, StatusCode::CONFLICT, "a horse is injected once an order");
}

#[tokio::test]
async fn millicuries_are_converted_and_the_rest_is_taken_off() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    // 135 mCi are 4995 MBq, 5 mCi are 185 MBq.
    let mci = with(INJECTION, &[("unit", "mCi"), ("full", "135"), ("left", "5")]);
    case.taken("injection", &mci).await;
    let page = case.page().await;
    assert!(
        page.texts("#injection dd").join(" ").contains("4810 MBq of"),
        "{:?}",
        page.texts("#injection dd")
    );
    let print = page.texts("#activities li").join("\n");
    assert!(
        print.contains("10 MBq/kg") && print.contains("5700 to 7300 MBq") && print.contains("Erichsen"),
        "{print}"
    );
}

#[tokio::test]
async fn bad_input_is_named_beside_its_field_and_nothing_typed_is_lost() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    for (field, bad) in [
        ("full", "a lot"),
        ("full", "0"),
        ("full_at", "14:00"),
        ("left", ""),
        ("left", "6000"),
        ("left_at", "25:00"),
        ("inj_on", "31 Feb 2026"),
        ("inj_at", "23:00"),
        ("nuclide", "Tc-98"),
        ("agent", ""),
    ] {
        let fields = with(INJECTION, &[(field, bad), ("inj_site", "left jugular vein")]);
        let answer = case.send("injection", &fields).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{field} {bad}");
        assert!(answer.has(&format!("#{field}-error")), "{field} {bad}: {:?}", answer.texts(".errors li"));
        assert_eq!(answer.values_of("inj_site"), ["left jugular vein"]);
    }
    case.taken("injection", INJECTION).await;
    let early = with(READING, &[("read_on", "2026-03-11"), ("read_at", "7:00"), ("read_by", "Tarn Test")]);
    let answer = case.send("rate", &early).await;
    assert!(answer.has("#read_at-error") && answer.has("#meter-error"), "{:?}", answer.texts(".errors li"));
    assert_eq!(answer.values_of("read_by"), ["Tarn Test"]);
    let half = [("part", "navicular"), ("protocol", "A"), ("left_counts", "100")];
    assert!(case.send("region", &half).await.has("#left_pixels-error"));
    let negative = with(METER, &[("serial", "S2"), ("calibration_due", "2025-12-31")]);
    let answer = case.owner.submit("/practice/radiation/meters", &negative).await;
    assert!(answer.has("#calibration_due-error") && answer.values_of("serial") == ["S2"]);
}

#[tokio::test]
async fn phases_are_counted_from_the_injection_without_a_script() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    case.taken("injection", INJECTION).await;
    case.wait(at("2026-03-11", 8, 10)).await;
    let page = case.page().await;
    let phases = page.texts("#clock .phase");
    assert_eq!(phases, ["over, 08:00 to 08:02", "now, 08:03 to 08:20", "to come, 10:00 to 12:00"]);
    assert_eq!(page.attrs("#clock [data-clock]", "data-until")[2], "2026-03-11T11:00:00Z");
    case.wait(at("2026-03-11", 10, 0)).await;
    assert_eq!(case.page().await.texts("#clock .phase")[2], "now, 10:00 to 12:00");
}

#[tokio::test]
async fn regions_are_compared_with_earlier_ones_of_the_same_protocol_only() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    case.taken("injection", INJECTION).await;
    // Navicular bone over coffin bone, palmar: lame 1.77, control 0.97 (1996).
    let region = [
        ("part", "navicular bone"),
        ("protocol", "palmar"),
        ("left_counts", "17700"),
        ("left_pixels", "100"),
        ("right_counts", "9700"),
        ("right_pixels", "100"),
        ("ref_counts", "10000"),
        ("ref_pixels", "100"),
        ("seen_left", "3"),
        ("seen_right", "0"),
    ];
    case.taken("region", &region).await;
    let said = case.page().await.texts("#regions dd").join("\n");
    // 200 (177 - 97) / (177 + 97) = 58.39
    for words in ["left 1.77, right 0.97", "58.4 %, more on the left", "left 3, intense, right 0, none"] {
        assert!(said.contains(words), "{words} in {said}");
    }
    case.wait(at("2026-09-11", 9, 0)).await;
    let visit = case.story.visit("2026-09-11").await;
    case.order = case.ordered(visit).await;
    case.taken("injection", &with(INJECTION, &[("inj_on", "2026-09-11")])).await;
    case.taken("region", &with(&region, &[("left_counts", "12000"), ("protocol", "Palmar ")])).await;
    case.taken("region", &with(&region, &[("protocol", "dorsal")])).await;
    let page = case.page().await;
    let regions = page.texts("#regions .region");
    assert!(regions[0].contains("11 Mar 2026: ratio left 1.77, right 0.97"), "{}", regions[0]);
    assert!(!regions[1].contains("11 Mar 2026"), "another protocol is not compared: {}", regions[1]);
    assert!(regions[1].contains("1 earlier by another protocol"), "{}", regions[1]);
}

#[tokio::test]
async fn pictures_of_different_times_are_reckoned_to_the_earliest() {
    let test = TestApp::new().await;
    let mut case = Case::new(&test).await;
    case.taken("injection", INJECTION).await;
    // After 2 h 0.793920 of the activity is left, so 793.92 counts then are as good as 1000.
    let region = [
        ("part", "tarsus"),
        ("protocol", "lateral"),
        ("left_counts", "100000"),
        ("left_pixels", "100"),
        ("left_time", "10:00"),
        ("right_counts", "79392"),
        ("right_pixels", "100"),
        ("right_time", "12:00"),
    ];
    case.taken("region", &region).await;
    let said = case.page().await.texts("#regions dd").join("\n");
    assert!(said.contains("left 1000, right 1000") && said.contains("0 %"), "{said}");
    let one = with(&region, &[("right_time", "")]);
    assert!(case.send("region", &one).await.has("#left_time-error"), "the time of every area, or of none");
}

#[tokio::test]
async fn bedding_is_held_for_ten_half_lives_and_spills_are_logged() {
    let test = TestApp::new().await;
    let mut case = Case::injected(&test).await;
    let bedding = [
        ("what", "bedding"),
        ("spill_on", "2026-03-12"),
        ("spill_at", "8:00"),
        ("spill_where", "box four"),
        ("spill_done", "bagged and labelled"),
    ];
    case.taken("spill", &bedding).await;
    let spill = [("what", "spill"), ("spill_where", "the corridor"), ("spill_after", "0.2")];
    case.taken("spill", &with(&bedding, &spill)).await;
    let lines = case.page().await.texts("#spills li").join("\n");
    // 60.072 h after eight on the twelfth.
    assert!(lines.contains("held until 14 Mar 2026, 20:04"), "{lines}");
    assert!(lines.contains("Spill, the corridor: bagged and labelled; 0.2 µSv/h after"), "{lines}");
    let cautions = case.page().await.texts(".caution").join(" ");
    for words in ["pregnant", "no visits", "nursing mare", "gloves", "Rope"] {
        assert!(cautions.contains(words), "{words} in {cautions}");
    }
}

#[tokio::test]
async fn only_a_bone_scan_has_this_page() {
    let test = TestApp::new().await;
    let mut case = Case::bare(&test).await;
    let way = format!("/visits/{}/diagnostics/usual", case.visit);
    let other = case.vet.submit(&way, &[("study", "fetlock"), ("limb", "LF")]).await.location().to_owned();
    assert!(!case.vet.get(&other).await.has(&format!("a[href='{other}/scan']")));
    assert_eq!(case.vet.get(&format!("{other}/scan")).await.status, StatusCode::NOT_FOUND);
}
