//! A picture that is measured: marks give every measure that they allow, lengths only with a scale, and what is kept
//! stands with its marks beside what was measured before.

use axum::http::StatusCode;
use limbledger::accounts::Role;

use crate::support::{
    Browser, Page, TestApp,
    pictures::{Object, order, picture_of},
};

const SIZE: (u16, u16) = (400, 300);
/// Millimetres a pixel, as the file of [`lateral`] has it.
const MM: f64 = 0.5;

/// A lateral view whose file gives its scale.
fn lateral(instance: &str) -> Object {
    Object {
        view: "LM".into(),
        laterality: "L".into(),
        size: SIZE,
        spacing: "0.5\\0.5".into(),
        ..Object::new(instance)
    }
}

/// A transverse ultrasound picture with steps of 0.2 mm.
fn transverse(instance: &str) -> Object {
    Object { modality: "US", size: SIZE, scanned_cm: Some(0.02), ..Object::new(instance) }
}

/// A place in mm as the form has it: ground 20 mm over the lower edge, the toe to the right or to the left.
fn at(x: f64, y: f64, toe: f64) -> String {
    let fine = |pixels: f64| (pixels * 10.0).round() / 10.0;
    format!("{},{}", fine(200.0 + toe * x / MM), fine(260.0 - y / MM))
}

/// The worked example of the measures: a sole that rises 5 degrees, 15 mm over the ground, a wall of 52 degrees.
fn foot(toe: f64) -> Vec<(&'static str, String)> {
    let (sin, cos) = 52f64.to_radians().sin_cos();
    vec![
        ("point-G1", at(-80.0, 0.0, toe)),
        ("point-G2", at(20.0, 0.0, toe)),
        ("point-T", at(0.0, 15.0, toe)),
        ("point-Q", at(-60.0, 15.0 + 60.0 * 5f64.to_radians().tan(), toe)),
        ("point-W1", at(20.0 - 80.0 * cos, 80.0 * sin, toe)),
        ("point-W2", at(20.0, 0.0, toe)),
        ("view", "LM".into()),
        ("limb", "LF".into()),
        ("what", "foot".into()),
        ("scale", "file".into()),
    ]
}

fn query(fields: &[(&str, String)]) -> String {
    let pairs: Vec<String> =
        fields.iter().map(|(name, value)| format!("{name}={}", value.replace(' ', "%20"))).collect();
    pairs.join("&")
}

fn with<'a>(fields: &'a [(&'a str, String)], other: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let kept = fields.iter().filter(|(name, _)| other.iter().all(|(changed, _)| changed != name));
    kept.map(|(name, value)| (*name, value.as_str())).chain(other.iter().copied()).collect()
}

/// Label and number of what is reckoned.
fn reckoned(page: &Page) -> Vec<String> {
    let (labels, numbers) = (page.texts("#reckoned .label"), page.texts("#reckoned summary b"));
    labels.into_iter().zip(numbers).map(|(label, number)| format!("{label} {number}")).collect()
}

async fn lateral_page(test: &TestApp) -> (Browser, String, String) {
    let horse = test.horse("Briar").await;
    let order = order(test, horse, 9, &[("LM", "LF")]).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let picture = picture_of(&mut vet, test, order, lateral("1")).await;
    (vet, format!("{picture}/measure"), format!("/diagnostics/{order}"))
}

#[tokio::test]
async fn a_foot_gives_its_measures_whichever_way_the_toe_points_and_lengths_only_with_a_scale() {
    let test = TestApp::new().await;
    let (mut vet, measure, _) = lateral_page(&test).await;
    // The angles are those that the points were made with.
    let expected = ["dorsal wall angle 52.0°", "palmar angle 5.0°", "sole depth under the tip 15.0 mm"];
    for toe in [1.0, -1.0] {
        let page = vet.get(&format!("{measure}?{}", query(&foot(toe)))).await;
        let found = reckoned(&page);
        for one in expected {
            assert!(found.iter().any(|line| line == one), "toe {toe}: no {one} among {found:?}");
        }
    }
    let page = vet.get(&format!("{measure}?{}", query(&foot(1.0)).replace("scale=file", "scale=none"))).await;
    assert_eq!(reckoned(&page), ["palmar angle 5.0°", "dorsal wall angle 52.0°"]);
    // 100 pixels are 25 mm: half as much as the file says.
    let marker = "scale=marker&marker_mm=25&point-K1=10,10&point-K2=110,10";
    let page = vet.get(&format!("{measure}?{}", query(&foot(1.0)).replace("scale=file", marker))).await;
    assert!(reckoned(&page).contains(&"sole depth under the tip 7.5 mm".to_owned()), "{:?}", reckoned(&page));
    assert!(
        page.texts("#reckoned li").iter().any(|line| line.contains("farriery review")),
        "references stand beside"
    );
}

#[tokio::test]
async fn without_script_a_tap_on_the_picture_sets_the_next_mark() {
    let test = TestApp::new().await;
    let (mut vet, measure, _) = lateral_page(&test).await;
    // The picture stands 720 wide there: 400 columns.
    let page = vet.get(&format!("{measure}?scale=file&next=G1&at.x=179&at.y=359")).await;
    assert_eq!(page.attrs("#point-G1", "value"), ["99.7,199.7"]);
    assert_eq!(page.attrs("input[name=next][checked]", "value"), ["G2"]);
    assert_eq!(page.attrs("#overlay g", "transform"), ["translate(99.7 199.7)"]);
    let back = vet.get(&format!("{measure}?scale=file&next=G2&point-G1=99.7,199.7&back=yes")).await;
    assert_eq!(back.attrs("#point-G1", "value"), [""]);
    let passed = vet.get(&format!("{measure}?scale=file&next=G1&skip=yes")).await;
    assert_eq!(passed.attrs("input[name=next][checked]", "value"), ["G2"]);
}

#[tokio::test]
async fn what_is_kept_stands_with_its_marks_in_order_report_and_history_and_is_amended_with_a_reason() {
    let test = TestApp::new().await;
    let (mut vet, measure, order) = lateral_page(&test).await;
    let foot = foot(1.0);
    let nothing = vet.submit(&measure, &with(&foot, &[("point-G1", ""), ("point-Q", "12,nowhere")])).await;
    assert_eq!(nothing.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(nothing.has("#point-Q-error") && nothing.attrs("#point-Q", "value") == ["12,nowhere"]);
    assert_eq!(nothing.attrs("#point-T", "value"), [foot[2].1.clone()], "what else was typed stands");
    let outside = vet.submit(&measure, &with(&foot, &[("point-Q", "401,20")])).await;
    assert!(outside.has("#point-Q-error"), "the picture is 400 wide");
    let below = vet.submit(&measure, &with(&foot, &[("point-T", "200,290")])).await;
    assert!(below.has("#point-T-error"), "the tip of a bone does not lie under the ground");

    assert_eq!(vet.submit(&measure, &with(&foot, &[])).await.status, StatusCode::SEE_OTHER);
    let page = vet.get(&order).await;
    let words = page.texts("#measured .what").remove(0);
    assert!(words.contains("left fore: LM: ") && words.contains("palmar angle 5.0°"), "{words}");
    let kept = page.attrs("#measured a", "href").remove(0);
    let page = vet.get(&kept).await;
    assert_eq!(page.attrs("#point-T", "value"), [foot[2].1.clone()], "the marks are as they were set");

    let was = kept.rsplit('=').next().unwrap().to_owned();
    let no_reason = vet.submit(&measure, &with(&foot, &[("was", &was)])).await;
    assert!(no_reason.has("#why-error"));
    let moved = at(0.0, 12.0, 1.0);
    let amended = [("was", was.as_str()), ("why", "the tip lies lower"), ("point-T", &moved)];
    assert_eq!(vet.submit(&measure, &with(&foot, &amended)).await.status, StatusCode::SEE_OTHER);
    let again = vet.submit(&measure, &with(&foot, &amended)).await;
    assert_eq!(again.status, StatusCode::CONFLICT, "it was amended meanwhile");
    let page = vet.get(&order).await;
    assert!(page.texts("#measured .what")[0].contains("sole depth under the tip 12.0 mm"));
    assert!(page.texts("details li").iter().any(|line| line.contains("sole depth under the tip 15.0 mm")));
    let visit = page.attrs(".subnav a", "href").into_iter().find(|href| href.ends_with("/report")).unwrap();
    let report = vet.get(&visit).await.texts("li li");
    assert!(report.iter().any(|line| line.contains("sole depth under the tip 12.0 mm")), "{report:?}");
    let horse = page.attrs("#measured p a", "href").remove(0);
    let course = vet.get(&horse).await;
    assert!(course.texts("td").iter().any(|cell| cell.starts_with("12.0 mm")), "{:?}", course.texts("td"));
}

/// A rectangle of so many pixels.
fn box_of(width: u16, height: u16) -> String {
    let (right, low) = (100 + width, 100 + height);
    format!("100,100 {right},100 {right},{low} 100,{low}")
}

fn zone<'a>(limb: &'a str, tendon: &'a str, lesion: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![
        ("what", "tendon"),
        ("limb", limb),
        ("structure", "US_SDFT"),
        ("zone", "2B"),
        ("scale", "file"),
        ("outline-tendon", tendon),
        ("outline-lesion", lesion),
        ("echogenicity_0_3", "2"),
    ]
}

#[tokio::test]
async fn outlines_of_a_tendon_give_areas_beside_the_other_limb_and_the_horse_itself() {
    let test = TestApp::new().await;
    let horse = test.horse("Briar").await;
    let mut vet = test.signed_in(Role::Vet).await;
    // Pixels of 0.2 mm: 8 by 5 mm, then 10 by 5; a lesion of 2 by 2.
    let (first, second) = (box_of(40, 25), box_of(50, 25));
    let lesion = box_of(10, 10);
    for (hour, limb, tendon, lesion) in
        [(9, "LF", &first, ""), (10, "RF", &first, ""), (11, "LF", &second, &lesion)]
    {
        let order = order(&test, horse, hour, &[("US_SDFT", limb)]).await;
        let picture = picture_of(&mut vet, &test, order, transverse(&hour.to_string())).await;
        let page = vet.submit(&format!("{picture}/measure"), &zone(limb, tendon, lesion)).await;
        assert_eq!(page.status, StatusCode::SEE_OTHER, "{limb}: {:?}", page.texts(".error"));
    }
    let page = vet.get(&format!("/horses/{horse}/measures")).await;
    let left = page.texts("section[aria-label='superficial digital flexor tendon, left fore'] td");
    assert_eq!(left[0], "50 mm²");
    assert!(left[1].starts_with("4 mm², 8.0 %") && left[1].contains("2, about half echogenic"), "{left:?}");
    assert!(left[2].starts_with("+25.0 % of 40 mm²"), "the other limb: {left:?}");
    assert!(left[3].starts_with("+25.0 % of 40 mm²"), "itself before: {left:?}");
    let lines = page.texts("section li");
    assert!(lines.iter().any(|line| line.starts_with("lesion in 1 zone: 8.0 %: mild")), "{lines:?}");
    assert!(lines.iter().any(|line| line.contains("Aristizábal")), "the published area stands beside");
}

#[tokio::test]
async fn an_outline_that_means_nothing_is_told_of_and_what_cannot_be_measured_is_kept_as_such() {
    let test = TestApp::new().await;
    let horse = test.horse("Briar").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let order = order(&test, horse, 9, &[("US_SDFT", "LF")]).await;
    let measure = format!("{}/measure", picture_of(&mut vet, &test, order, transverse("1")).await);
    let small = box_of(10, 10);
    let crossing = "100,100 150,150 150,100 100,150";
    let wrong = vet.submit(&measure, &zone("LF", crossing, "")).await;
    assert!(wrong.has("#outline-tendon-error") && wrong.attrs("#outline-tendon", "value") == [crossing]);
    let wrong = vet.submit(&measure, &zone("LF", &small, &box_of(20, 20))).await;
    assert!(wrong.has("#outline-lesion-error"), "a lesion lies in its tendon");
    let mut hind = zone("LH", &small, "");
    hind[3] = ("zone", "3C");
    assert!(vet.submit(&measure, &hind).await.has("#zone-error"), "3C is a zone of a forelimb");
    let mut diffuse = zone("LF", "", "");
    diffuse.push(("unmeasurable", "diffuse"));
    assert_eq!(vet.submit(&measure, &diffuse).await.status, StatusCode::SEE_OTHER);
    let words = vet.get(&format!("/diagnostics/{order}")).await.texts("#measured .what").remove(0);
    assert!(words.contains("zone 2B") && words.contains("not measurable: diffuse"), "{words}");
}

#[tokio::test]
async fn a_lesion_s_volume_is_reckoned_with_the_length_that_a_zone_has_on_this_horse() {
    let test = TestApp::new().await;
    let horse = test.horse("Briar").await;
    let mut vet = test.signed_in(Role::Vet).await;
    let order = order(&test, horse, 9, &[("US_SDFT", "LF")]).await;
    let (tendon, lesion) = (box_of(50, 25), box_of(10, 10));
    let mut pictures = Vec::new();
    for (instance, at) in [("1", "2A"), ("2", "2B")] {
        let picture = picture_of(&mut vet, &test, order, transverse(instance)).await;
        let mut fields = zone("LF", &tendon, &lesion);
        fields[3] = ("zone", at);
        fields.push(("zone_mm", "5"));
        let wrong = vet.submit(&format!("{picture}/measure"), &fields).await;
        assert_eq!(wrong.texts("#zone_mm-error"), ["Enter a number from 10 to 80 mm."]);
        *fields.last_mut().unwrap() = ("zone_mm", "38");
        let kept = vet.submit(&format!("{picture}/measure"), &fields).await;
        assert_eq!(kept.status, StatusCode::SEE_OTHER, "{:?}", kept.texts(".error"));
        pictures.push(picture);
    }
    // Two lesions of 4 mm2, one zone of 38 mm between them: 4 x 38.
    let lines = vet.get(&format!("/horses/{horse}/measures")).await.texts("section li");
    assert!(lines.iter().any(|line| line == "lesion about 152 mm³, with zones of 38 mm"), "{lines:?}");
    let page = vet.get(&format!("{}/measure?limb=LF", pictures[0])).await;
    assert_eq!(page.attrs("#zone_mm", "value"), ["38"], "what was said of the horse is proposed again");
    let page = vet.get(&format!("{}/measure?limb=LH", pictures[0])).await;
    assert_eq!(
        page.values_of("zone_mm"),
        [""],
        "nobody has measured a hindlimb, and its zones have no nominal length"
    );
}
