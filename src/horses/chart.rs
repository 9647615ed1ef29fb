//! A number of a horse over time, as a small drawn line.

use std::fmt::Write;

use super::{measure, store::Weight};
use crate::clock::Day;

/// Numbers over days as a drawn line, oldest to the left.
pub(super) struct Line {
    /// The `points` of a polyline in a box of [`WIDTH`] by [`HEIGHT`].
    pub(super) points: String,
    pub(super) dots: Vec<(String, String)>,
    /// The same in words.
    pub(super) says: String,
}

const WIDTH: f64 = 300.0;
const HEIGHT: f64 = 60.0;
const EDGE: f64 = 6.0;

impl Line {
    /// `newest_first` as the store gives them; fewer than two make no line.
    pub(super) fn of(newest_first: &[Weight], unit: &str) -> Option<Line> {
        let points: Vec<(Day, f64)> = newest_first.iter().map(|w| (w.weighed_on, w.kg)).collect();
        Self::drawn(&points, "Weight", |kg| measure::weight_words(kg, unit))
    }

    /// Any number over days, the newest first.
    pub(super) fn drawn(points: &[(Day, f64)], what: &str, words: impl Fn(f64) -> String) -> Option<Line> {
        let (newest, oldest) = (points.first()?, points.last()?);
        if points.len() < 2 {
            return None;
        }
        let numbers = || points.iter().map(|(_, number)| *number);
        let (least, most) = (numbers().fold(f64::MAX, f64::min), numbers().fold(f64::MIN, f64::max));
        let days = to_f64(oldest.0.days_until(newest.0)).max(1.0);
        let mut line = Line { points: String::new(), dots: Vec::new(), says: String::new() };
        for (day, number) in points.iter().rev() {
            let along = to_f64(oldest.0.days_until(*day)) / days;
            let up = if most - least < 0.25 { 0.5 } else { (number - least) / (most - least) };
            let x = format!("{:.1}", EDGE + along * (WIDTH - 2.0 * EDGE));
            let y = format!("{:.1}", HEIGHT - EDGE - up * (HEIGHT - 2.0 * EDGE));
            let _ = write!(line.points, "{x},{y} ");
            line.dots.push((x, y));
        }
        line.says = format!(
            "{what} from {} on {} to {} on {}, between {} and {}.",
            words(oldest.1),
            oldest.0.words(),
            words(newest.1),
            newest.0.words(),
            words(least),
            words(most),
        );
        Some(line)
    }
}

/// Days between two weights: far below where a float would round.
fn to_f64(days: i64) -> f64 {
    i32::try_from(days).map_or(0.0, f64::from)
}
