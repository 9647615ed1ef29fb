//! `limbledger compute NAME`, as a script uses it.

use std::{io::Write, process::Stdio};

use limbledger::catalogue::catalogue;
use serde_json::{Value, json};

use super::support::{program, run, stderr, stdout};

fn compute(name: &str, input: &str) -> std::process::Output {
    let mut command = program();
    command.args(["compute", name]).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    child.stdin.take().unwrap().write_all(input.as_bytes()).unwrap();
    child.wait_with_output().unwrap()
}

fn found(name: &str, input: &Value) -> Value {
    let output = compute(name, &input.to_string());
    assert!(output.status.success(), "{}", stderr(&output));
    assert_eq!(stdout(&output).lines().count(), 1);
    serde_json::from_str(&stdout(&output)).unwrap()
}

fn members(object: &Value) -> Vec<&str> {
    let mut members: Vec<&str> = object.as_object().unwrap().keys().map(String::as_str).collect();
    members.sort_unstable();
    members
}

fn near(found: &Value, expected: f64, within: f64) {
    assert!((found.as_f64().unwrap() - expected).abs() <= within, "{found} is not {expected}");
}

#[test]
fn decay_tells_what_is_left_and_with_which_half_life() {
    let left = found("decay", &json!({ "activity_mbq": 5000, "hours": 24 }));
    assert_eq!(members(&left), ["activity_mbq", "fraction", "half_life_h", "source"]);
    // ENSDF half-life 6.0072 h: 0.062708 are left after a day.
    near(&left["half_life_h"], 6.0072, 1e-12);
    near(&left["fraction"], 0.062_708, 5e-7);
    near(&left["activity_mbq"], 313.54, 0.005);
    assert!(left["source"].as_str().unwrap().contains("ENSDF"));
    let other = found("decay", &json!({ "nuclide": "Tc-99m/ICRP-107", "activity_mbq": 1, "hours": 6.015 }));
    near(&other["fraction"], 0.5, 1e-12);
    near(&found("decay", &json!({ "activity_mbq": 1, "hours": 0 }))["fraction"], 1.0, 0.0);
}

#[test]
fn hoof_gives_every_measure_that_the_points_allow() {
    let rise = 15.0 + 60.0 * 5f64.to_radians().tan();
    let points = json!({ "G1": [-80, 0], "G2": [30, 0], "T": [0, 15], "Q": [-60, rise] });
    let measures = found("hoof", &json!({ "view": "LM", "points": points }));
    assert_eq!(members(&measures), ["measures"]);
    assert_eq!(members(&measures["measures"]), ["palmar_angle_deg", "sole_depth_mm", "sole_depth_wing_mm"]);
    near(&measures["measures"]["palmar_angle_deg"], 5.0, 1e-9);
    let hind = found("hoof", &json!({ "view": "LM", "limb": "hind", "points": points }));
    near(&hind["measures"]["plantar_angle_deg"], 5.0, 1e-9);
    let front = json!({ "JM": [-20, 40], "JL": [20, 40], "PM": [-25, 20], "PL": [25, 18] });
    for view in ["DPa", "DPl"] {
        let front = found("hoof", &json!({ "view": view, "points": front }));
        assert_eq!(front, json!({ "measures": { "dip_joint_ml_tilt_deg": 0.0, "p3_ml_balance_mm": -2.0 } }));
    }
}

#[test]
fn tendon_gives_shares_class_worst_zone_and_volume() {
    let total = [107, 97, 77, 90, 95, 86, 133];
    let lesion = [0, 0, 12, 30, 20, 0, 0];
    let names = ["1A", "1B", "2A", "2B", "3A", "3B", "3C"];
    let zones: Vec<Value> = names
        .iter()
        .zip(total.iter().zip(lesion))
        .map(|(zone, (total, lesion))| json!({ "zone": zone, "total_mm2": total, "lesion_mm2": lesion }))
        .collect();
    let weighed = found("tendon", &json!({ "zones": zones, "spacing_mm": 40 }));
    assert_eq!(members(&weighed), ["class", "lesion_volume_mm3", "total_pct", "worst_zone", "zones"]);
    assert_eq!((&weighed["class"], &weighed["worst_zone"]), (&json!("mild"), &json!("2B")));
    near(&weighed["total_pct"], 9.05, 0.005);
    near(&weighed["lesion_volume_mm3"], 2480.0, 1e-9);
    assert_eq!(weighed["zones"].as_array().unwrap().len(), 7);
    assert_eq!(members(&weighed["zones"][3]), ["lesion_pct", "zone"]);
    let sound = json!({ "zones": [{ "zone": "1A", "total_mm2": 100, "lesion_mm2": 0 }] });
    let sound = found("tendon", &sound);
    assert_eq!((&sound["class"], &sound["worst_zone"]), (&json!("none"), &Value::Null));
    assert_eq!(sound["lesion_volume_mm3"], Value::Null);
}

#[test]
fn triage_holds_what_was_not_asked_against_the_horse() {
    let nail = found("triage", &json!({ "yes": ["RF4"] }));
    assert_eq!(members(&nail), ["advice", "because", "class", "unasked"]);
    assert_eq!(nail["class"], "now");
    assert!(nail["advice"][0].as_str().unwrap().contains("unless it is being driven deeper"));
    assert_eq!(found("triage", &json!({}))["class"], "same_day");
    let all: Vec<String> = (1..=19).map(|n| format!("RF{n}")).collect();
    let asked = found("triage", &json!({ "no": all }));
    assert_eq!((&asked["class"], asked["because"].as_array().unwrap().len()), (&json!("routine"), 0));
    assert_eq!(asked["unasked"], json!(["RF20", "RF21"]));
}

#[test]
fn distance_is_also_called_travel() {
    let ends = json!({ "from": { "lat": 0, "lon": 0 }, "to": { "lat": 1, "lon": 0 } });
    let way = found("distance", &ends);
    assert_eq!(members(&way), ["minutes", "road_km", "straight_km"]);
    near(&way["straight_km"], 111.195, 5e-4);
    near(&way["road_km"], 144.5535, 1e-3);
    near(&way["minutes"], 157.695, 1e-3);
    assert_eq!(found("travel", &ends), way);
}

#[test]
fn slots_and_route_give_starts_and_an_order() {
    let place = |name: &str, lat: f64| json!({ "name": name, "lat": lat, "lon": -30 });
    let stop =
        json!({ "place": place("far", 46.25), "who": "Briar", "from": "2026-03-11T10:00", "minutes": 45 });
    let day = json!({ "from": "2026-03-11T08:00", "until": "2026-03-11T18:00", "stops": [stop] });
    let asked = json!({
        "zone": "Europe/Berlin", "now": "2026-03-11T07:00", "visit": { "place": place("far", 46.25), "minutes": 30 },
        "vets": [{ "name": "V", "base": place("practice", 46.0), "days": [day] }],
    });
    let starts = found("slots", &asked);
    let first = &starts["starts"][0];
    assert_eq!(members(first), ["adds_min", "drive_min", "from", "until", "vet", "why"]);
    assert_eq!((&first["from"], &first["adds_min"]), (&json!("2026-03-11T09:30"), &json!(0)));
    assert_eq!(first["why"], "same yard as Briar: no driving more");

    let stop = |name: &str, lat: f64, at: &str| json!({ "place": place(name, lat), "minutes": 45, "at": at });
    let stops = [
        stop("far", 46.25, "2026-03-11T10:00"),
        stop("near", 46.05, "2026-03-11T12:00"),
        stop("farther", 46.3, "2026-03-11T14:00"),
    ];
    let day = json!({ "from": "2026-03-11T08:00", "until": "2026-03-11T18:00", "start": place("practice", 46.0), "stops": stops });
    let route = found("route", &day);
    // 0.25, 0.2, 0.25 and 0.3 degrees of a meridian against twice 0.3, at 111.195 km and 1.3 km of road for each.
    near(&route["before"]["km"], 1.0 * 144.5535, 1e-3);
    near(&route["after"]["km"], 0.6 * 144.5535, 1e-3);
    assert_eq!(route["after"]["stops"].as_array().unwrap().len(), 3);
}

#[test]
fn what_cannot_be_reckoned_with_is_refused_in_one_sentence_by_its_name() {
    for (calculator, input, name) in [
        ("decay", r#"{"activity_mbq": 1, "hours": 1, "minutes": 3}"#, "minutes"),
        ("decay", r#"{"activity_mbq": 1}"#, "hours"),
        ("decay", r#"{"activity_mbq": "much", "hours": 1}"#, "activity_mbq"),
        ("decay", r#"{"activity_mbq": 1, "hours": NaN}"#, "hours"),
        ("decay", r#"{"activity_mbq": 1, "hours": 1e999}"#, "hours"),
        ("decay", r#"{"activity_mbq": 0, "hours": 1}"#, "activity_mbq"),
        ("decay", r#"{"activity_mbq": 1, "hours": -1}"#, "hours"),
        ("decay", r#"{"activity_mbq": 1, "hours": 1, "nuclide": "Xx-1"}"#, "Xx-1"),
        ("decay", r#"{"activity_mbq": 1, "hours": 1} {}"#, "more than one"),
        ("decay", "", "input"),
        ("hoof", r#"{"view": "LM", "points": {"T": [0]}}"#, "points.T"),
        ("hoof", r#"{"view": "LM", "points": {"T": [0, "x"]}}"#, "points.T"),
        ("hoof", r#"{"view": "LM", "points": {"TT": [0, 1]}}"#, "points.TT"),
        ("hoof", r#"{"view": "LM", "points": {"T": [0, 1], "T": [0, 2]}}"#, "`T` stands twice"),
        ("hoof", r#"{"view": "LM", "points": [1]}"#, "points cannot be read"),
        ("hoof", r#"{"view": "XY", "points": {"T": [0, 1]}}"#, "view"),
        ("hoof", r#"{"view": "LM", "points": {}, "scale": 1}"#, "scale"),
        ("hoof", r#"{"view": "LM", "limb": "LF", "points": {}}"#, "limb"),
        ("tendon", r#"{"zones": [], "spacing_mm": 1}"#, "zones"),
        ("triage", r#"{"yes": ["RF1"], "no": ["RF1"]}"#, "no"),
        ("triage", r#"{"yes": ["RF99"]}"#, "RF99"),
        ("triage", r#"{"maybe": []}"#, "maybe"),
        ("distance", r#"{"from": {"lat": 91, "lon": 0}, "to": {"lat": 0, "lon": 0}}"#, "from.lat"),
        (
            "distance",
            r#"{"from": {"lat": 1, "lon": 0}, "to": {"lat": 0, "lon": 0}, "speed_kmh": 0}"#,
            "speed_kmh",
        ),
        ("slots", r#"{"now": "noon", "visit": {"place": {"name": "a"}, "minutes": 30}, "vets": []}"#, "now"),
        (
            "slots",
            r#"{"now": "2026-03-11T09:00", "visit": {"place": {"name": "a", "lat": 1}, "minutes": 30}, "vets": []}"#,
            "visit.place",
        ),
        (
            "route",
            r#"{"from": "2026-03-11T09:00", "until": "2026-03-11T18:00", "start": {"name": "a"}, "stops": [], "figures": {"speed_kmh": 1}}"#,
            "figures.speed_kmh",
        ),
        ("tendon", r#"{"zones": [{"zone": "1A", "total_mm2": 9, "lesion_mm2": 1, "note": ""}]}"#, "note"),
        ("tendon", r#"{"zones": [{"zone": "1A", "total_mm2": 9, "lesion_mm2": -1}]}"#, "zones[0].lesion_mm2"),
        (
            "tendon",
            r#"{"zones": [{"zone": "1A", "total_mm2": 9, "lesion_mm2": 1}], "spacing_mm": 0}"#,
            "spacing_mm",
        ),
    ] {
        let output = compute(calculator, input);
        assert_eq!(output.status.code(), Some(1), "{input}: {}", stdout(&output));
        let said = stderr(&output);
        assert!(
            stdout(&output).is_empty() && said.contains(name) && said.trim_end().lines().count() == 1,
            "{input}: {said}"
        );
    }
}

#[test]
fn help_names_every_member_and_every_number_with_its_source() {
    let figures = &catalogue().diagnostics.figures;
    let decay = stdout(&run(&["compute", "decay", "--help"]));
    for row in &figures.half_lives {
        assert!(
            decay.contains(&row.code)
                && decay.contains(&row.hours.to_string())
                && decay.contains(&row.source)
        );
    }
    assert!(
        ["nuclide", "activity_mbq", "hours", "fraction", "half_life_h"]
            .iter()
            .all(|name| decay.contains(name))
    );
    let hoof = stdout(&run(&["compute", "hoof", "--help"]));
    for row in &figures.hoof_measures {
        assert!(hoof.contains(&row.code) && hoof.contains(&row.source), "{}", row.code);
        assert!(figures.references_of(&row.code).all(|reference| hoof.contains(&reference.source)));
    }
    assert!(figures.hoof_points.iter().all(|row| hoof.contains(&row.name)));
    let tendon = stdout(&run(&["compute", "tendon", "--help"]));
    for row in &figures.severities {
        assert!(tendon.contains(&row.code) && tendon.contains(&row.source));
    }
    assert!(["total_mm2", "lesion_mm2", "spacing_mm", "worst_zone"].iter().all(|name| tendon.contains(name)));
    for name in ["distance", "slots", "route"] {
        let help = stdout(&run(&["compute", name, "--help"]));
        assert!(
            catalogue().road.figures.iter().all(|row| help.contains(&row.code) && help.contains(&row.source))
        );
    }
    let triage = stdout(&run(&["compute", "triage", "--help"]));
    assert!(catalogue().red_flags.iter().all(|row| triage.contains(&row.code) && triage.contains(&row.ask)));
    for wrong in [&["compute"][..], &["compute", "nonsense"], &["compute", "decay", "--nonsense"]] {
        assert_eq!(run(wrong).status.code(), Some(2), "{wrong:?}");
    }
}

#[test]
fn weight_and_dose_answer_with_their_source_and_refuse_by_name() {
    let tape = json!({ "method": "hall_adult", "girth_cm": 195, "length_cm": 170 });
    let weight = found("weight", &tape);
    near(&weight["weight_kg"], 544.1, 0.05);
    assert!(weight["source"].as_str().unwrap().contains("Wagner"));
    let refused = compute("weight", &json!({ "method": "hall_adult", "girth_cm": 195 }).to_string());
    assert!(refused.status.code() == Some(1) && stderr(&refused).contains("length_cm"));
    let dose = found(
        "dose",
        &json!({ "drug": "flunixin", "route": "IV", "weight_kg": 500, "mg_per_kg": 1.1, "concentration_mg_per_ml": 50 }),
    );
    near(&dose["dose_mg"], 550.0, 1e-9);
    near(&dose["volume_ml"], 11.0, 1e-9);
    assert!(dose["tag"] == "V" && dose["label_status"] == "label, US" && dose["warnings"] == json!([]));
    let range = found("dose", &json!({ "drug": "detomidine", "route": "IM", "weight_kg": 500 }));
    assert!(range.get("dose_mg").is_none() && range["range_mg"] == json!([10.0, 20.0]));
    assert_eq!(range["range_mg_per_kg"], json!([0.02, 0.04]));
    let refused =
        compute("dose", &json!({ "drug": "detomidine", "route": "IM", "weight_kg": 0 }).to_string());
    assert!(refused.status.code() == Some(1) && stderr(&refused).contains("weight_kg"));
}

#[test]
fn competition_gives_the_earliest_day_with_what_decides_it_and_says_what_is_missing() {
    // The worked example of a racing authority's notice: Monday the 1st, 8 clear days, Wednesday the 10th.
    let joint = json!({
        "name": "joint injection", "end": "2026-06-01T10:00",
        "rules": [{ "kind": "stand_down", "clear_days": 8 }]
    });
    let flunixin = |margin: Value| {
        json!({
            "name": "flunixin", "end": "2026-06-02T08:00", "margin_hours": margin,
            "rules": [{ "kind": "detection", "hours": 144 }]
        })
    };
    let ask = |treatments: Value| {
        found(
            "competition",
            &json!({ "event": "2026-06-10", "zone": "Europe/Berlin", "valid_from": "2026-01-01", "treatments": treatments }),
        )
    };
    let one = ask(json!([joint]));
    assert_eq!(members(&one), ["clear", "decided_by", "each", "earliest", "no_rule", "valid_on_event"]);
    assert_eq!((&one["earliest"], &one["clear"]), (&json!("2026-06-10"), &json!(true)));
    assert_eq!(one["valid_on_event"], json!(true));
    let open = ask(json!([joint, flunixin(Value::Null), { "name": "shock-wave", "end": "2026-06-01" }]));
    assert_eq!((&open["earliest"], &open["clear"]), (&Value::Null, &Value::Null));
    assert_eq!(open["each"][1]["missing"], json!("margin"));
    assert_eq!(open["no_rule"], json!(["shock-wave"]));
    // 144 h and 48 h from the 2nd at eight end on the 10th at eight: the first day after is the 11th.
    let both = ask(json!([joint, flunixin(json!(48))]));
    assert_eq!((&both["earliest"], &both["decided_by"]), (&json!("2026-06-11"), &json!("flunixin")));
    assert_eq!(both["clear"], json!(false));
    for (input, name) in [
        (json!({ "treatments": [{ "name": "x", "end": "soon" }] }), "treatments[0].end"),
        (
            json!({ "treatments": [{ "name": "x", "rules": [{ "kind": "detection" }] }] }),
            "treatments[0].rules[0]",
        ),
        (json!({ "zone": "Atlantis", "treatments": [] }), "zone"),
    ] {
        let refused = compute("competition", &input.to_string());
        assert!(refused.status.code() == Some(1) && stderr(&refused).contains(name), "{}", stderr(&refused));
    }
}
