//! One line of a course as an entry of the record: `FETL_D.L EFF 2 medial: cool`, `TRT_SH LF 2`, `FX_DF LF 3`.
//!
//! Courses are written for the left; [`flip`] tells the same story of the right.

use anyhow::{Context, bail, ensure};

use crate::{
    catalogue::{FieldKind, Limb, Place, Row, catalogue},
    ids::SweepId,
    record::{Body, Kind},
};

/// The same words with left and right changed over.
pub(super) fn flip(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut word = String::new();
    for c in text.chars() {
        if c.is_alphanumeric() || c == '_' {
            word.push(c);
        } else {
            out.push_str(other_side(&word));
            word.clear();
            out.push(c);
        }
    }
    out.push_str(other_side(&word));
    out
}

fn other_side(word: &str) -> &str {
    const PAIRS: [(&str, &str); 8] = [
        ("L", "R"),
        ("LF", "RF"),
        ("LH", "RH"),
        ("left", "right"),
        ("Left", "Right"),
        ("LNG_LH", "LNG_RH"),
        ("LNG_LS", "LNG_RS"),
        ("RDN_RISE_L", "RDN_RISE_R"),
    ];
    PAIRS
        .iter()
        .find_map(|(left, right)| match word {
            w if w == *left => Some(*right),
            w if w == *right => Some(*left),
            _ => None,
        })
        .unwrap_or(word)
}

/// Splits `what: words` at the first colon that a blank follows.
fn with_words(line: &str) -> (Vec<&str>, Option<String>) {
    let (head, words) =
        line.split_once(": ").map_or((line, None), |(head, words)| (head, Some(words.to_owned())));
    (head.split_whitespace().collect(), words)
}

fn at(kind: Kind, place: Place) -> Body {
    let mut body = Body::new(kind);
    body.region = Some(place.region().code.clone());
    body.side = Some(place.side().code().to_owned());
    body.limb = place.limb().map(|limb| limb.code().to_owned());
    body
}

/// A place that one gesture covered.
pub(super) fn swept(place: Place, sweep: SweepId) -> Body {
    Body { present: Some(false), sweep: Some(sweep), ..at(Kind::Place, place) }
}

/// The place that a finding line stands at.
pub(super) fn place_of(line: &str) -> anyhow::Result<Place> {
    let key = line.split_whitespace().next().unwrap_or_default();
    match key.split_once('.') {
        Some((site, limb)) if catalogue().tester_site(site).is_some() => {
            Ok(Place::on("FT_HT", limb.parse()?)?)
        }
        _ => Ok(key.parse()?),
    }
}

/// `PLACE CODE [no|grade|pick] [aspect or quality ...][: words]`, or `PLACE ok` for nothing found by hand.
pub(super) fn finding(line: &str) -> anyhow::Result<Body> {
    let (parts, words) = with_words(line);
    let place = place_of(line).with_context(|| format!("`{line}` names no place"))?;
    let mut parts = parts.into_iter().skip(1);
    let code = parts.next().with_context(|| format!("`{line}` says nothing"))?;
    if code == "ok" {
        return Ok(Body { present: Some(false), text: words, ..at(Kind::Place, place) });
    }
    let mut body = at(Kind::Finding, place);
    body.code = Some(code.to_owned());
    body.text = words;
    body.present = Some(true);
    if let Some(field) = place.region().field(code) {
        let value = parts.next().with_context(|| format!("`{line}` picks nothing"))?;
        ensure!(matches!(field.kind, FieldKind::Pick | FieldKind::Picks), "`{line}` is not a pick");
        let pick = field.pick(value).with_context(|| format!("`{line}` picks what is not there"))?;
        let describes = field.kind == FieldKind::Pick && field.picks.iter().all(|pick| !pick.normal);
        body.present = (!describes).then_some(!pick.normal);
        body.value = Some(value.to_owned());
        return Ok(body);
    }
    if let Some((site, _)) = line.split_once('.').filter(|(site, _)| catalogue().tester_site(site).is_some())
    {
        body.region = Some(site.to_owned());
    }
    let finding =
        catalogue().finding(code).with_context(|| format!("`{line}` finds what is not in the list"))?;
    for part in parts {
        qualify(&mut body, finding.scale.as_deref(), part).with_context(|| format!("in `{line}`"))?;
    }
    ensure!(
        body.grade.is_some() || finding.scale.is_none() || body.present == Some(false),
        "`{line}` has no grade"
    );
    Ok(body)
}

fn qualify(body: &mut Body, scale: Option<&str>, part: &str) -> anyhow::Result<()> {
    if part == "no" {
        body.present = Some(false);
    } else if let Ok(grade) = part.parse::<f64>() {
        graded(body, scale.context("this finding has no scale")?, grade)?;
        body.present = Some(grade > 0.0);
    } else if catalogue().modifiers.aspects.iter().any(|row| row.code() == part) {
        body.aspect = Some(part.to_owned());
    } else {
        body.qualities.push(part.replace('_', " "));
    }
    Ok(())
}

/// A grade that the scale has.
pub(super) fn graded(body: &mut Body, scale: &str, grade: f64) -> anyhow::Result<()> {
    let known = catalogue().scale(scale).with_context(|| format!("there is no scale {scale}"))?;
    ensure!(known.allows(grade), "{scale} has no grade {grade}");
    body.scale = Some(scale.to_owned());
    body.grade = Some(grade);
    Ok(())
}

/// `CONDITION LIMB GRADE[: words]`; without a limb the same for all four.
pub(super) fn gait(line: &str) -> anyhow::Result<Vec<Body>> {
    let (parts, words) = with_words(line);
    let (code, limbs, grade) = match parts.as_slice() {
        [code, grade] => (*code, Limb::ALL.to_vec(), *grade),
        [code, limb, grade] => (*code, vec![limb.parse()?], *grade),
        _ => bail!("`{line}` is not a condition, a limb and a grade"),
    };
    ensure!(catalogue().condition(code).is_some(), "`{line}` names no condition");
    let one = |limb: Limb| {
        let mut body = Body::new(Kind::Gait);
        body.limb = Some(limb.code().to_owned());
        body.code = Some(code.to_owned());
        body.text.clone_from(&words);
        graded(&mut body, "aaep_0_5", grade.parse()?)?;
        Ok(body)
    };
    limbs.into_iter().map(one).collect()
}

/// `TEST LIMB GRADE[: words]`
pub(super) fn flexion(line: &str) -> anyhow::Result<Body> {
    let (parts, words) = with_words(line);
    let [code, limb, grade] = parts.as_slice() else { bail!("`{line}` is not a test, a limb and a grade") };
    let limb: Limb = limb.parse()?;
    let test = catalogue().flexion(code).with_context(|| format!("`{line}` names no test"))?;
    ensure!(test.suits(limb), "`{line}` is not done on that limb");
    let mut body = Body::new(Kind::Flexion);
    body.limb = Some(limb.code().to_owned());
    body.code = Some((*code).to_owned());
    body.text = words;
    body.number = test.hold_s.map(|range| range.min);
    graded(&mut body, "flexion_0_4", grade.parse()?)?;
    Ok(body)
}

/// `ITEM[.L|.R] yes|no[: words]`, or `ATAX fore|hind GRADE[: words]`
pub(super) fn neuro(line: &str) -> anyhow::Result<Body> {
    let (parts, words) = with_words(line);
    if let ["ATAX", pair @ ("fore" | "hind"), grade] = parts.as_slice() {
        let mut body = Body::new(Kind::Neuro);
        body.code = Some("ATAX".to_owned());
        body.value = Some((*pair).to_owned());
        body.text = words;
        graded(&mut body, "ataxia_0_5", grade.parse()?)?;
        return Ok(body);
    }
    let [item, answer] = parts.as_slice() else { bail!("`{line}` is not an item and an answer") };
    let (code, side) = item.split_once('.').map_or((*item, None), |(code, side)| (code, Some(side)));
    ensure!(catalogue().neuro(code).is_some(), "`{line}` names no item");
    let mut body = Body::new(Kind::Neuro);
    body.code = Some(code.to_owned());
    body.side = side.map(ToOwned::to_owned);
    body.present = Some(*answer == "yes");
    body.text = words;
    Ok(body)
}

/// Temperature, pulse, respiration and body condition, in that order.
pub(super) fn vitals(numbers: &[f64]) -> Vec<Body> {
    let codes = ["temp_c", "pulse_bpm", "resp_bpm", "bcs"];
    codes
        .into_iter()
        .zip(numbers)
        .map(|(code, number)| {
            let mut body = Body::new(Kind::Vital);
            body.code = Some(code.to_owned());
            body.number = Some(*number);
            body
        })
        .collect()
}

/// `[PLACE|LIMB] words`: an image, a treatment or a problem, at a place if it begins with one.
pub(super) fn written(kind: Kind, line: &str) -> anyhow::Result<Body> {
    let (first, rest) = line.split_once(' ').with_context(|| format!("`{line}` has no words"))?;
    let (mut body, words) = if let Ok(place) = first.parse::<Place>() {
        (at(kind, place), rest)
    } else if let Ok(limb) = first.parse::<Limb>() {
        (Body { limb: Some(limb.code().to_owned()), ..Body::new(kind) }, rest)
    } else {
        (Body::new(kind), line)
    };
    let words = match (kind, words.split_once(' ')) {
        (Kind::Problem, Some((certainty, words))) => {
            ensure!(["suspected", "likely", "confirmed"].contains(&certainty), "`{line}` has no certainty");
            body.value = Some(certainty.to_owned());
            words
        }
        _ => words,
    };
    body.text = Some(words.to_owned());
    Ok(body)
}
