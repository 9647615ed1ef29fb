//! How a code of a projection is read.

use super::{Direction, Half, Projection, ProjectionError, View};

/// Swung by more than a right angle only from below: the fetlock's views that enter distally.
const USUAL_DEGREES: std::ops::RangeInclusive<u8> = 1..=90;
const FROM_BELOW_DEGREES: std::ops::RangeInclusive<u8> = 95..=135;

type Read<T> = Result<T, ProjectionError>;

pub(super) fn projection(text: &str) -> Read<Projection> {
    let trimmed = text.trim();
    let (flexed, beam) = match trimmed.split_once(char::is_whitespace) {
        Some((word, rest)) if word.eq_ignore_ascii_case("flexed") => (true, rest.trim_start()),
        None if trimmed.eq_ignore_ascii_case("flexed") => (true, ""),
        _ => (false, trimmed),
    };
    let start = text.len() - text.trim_start().len() + trimmed.len() - beam.len();
    let mut reader = Reader { text, at: start, end: start + beam.len() };
    if beam.is_empty() {
        return Err(
            reader.wrong("is no projection: it says neither where the beam enters nor where it leaves")
        );
    }
    let view = reader.view()?;
    Ok(Projection { flexed, view })
}

/// A place in the typed text, as bytes; `end` is where the beam's code ends.
struct Reader<'t> {
    text: &'t str,
    at: usize,
    end: usize,
}

impl Reader<'_> {
    fn rest(&self) -> &str {
        self.text.get(self.at..self.end).unwrap_or_default()
    }

    /// An error here.
    fn refused(&self, what: &str) -> ProjectionError {
        let before = self.text.get(..self.at).unwrap_or_default().chars().count();
        ProjectionError { code: self.text.to_owned(), at: Some(before + 1), what: what.to_owned() }
    }

    /// An error of the whole.
    fn wrong(&self, what: &str) -> ProjectionError {
        ProjectionError { code: self.text.to_owned(), at: None, what: what.to_owned() }
    }

    fn view(&mut self) -> Read<View> {
        let entry = self.half()?;
        if self.rest().is_empty() {
            return self.along(&entry);
        }
        if !self.take('-') {
            return Err(self.unread(if self.rest().starts_with(['O', 'o']) {
                "is where an oblique view ends, which has a hyphen between entry and exit"
            } else {
                "is no direction"
            }));
        }
        let exit = self.half()?;
        if exit.towards.iter().any(|(degrees, _)| degrees.is_some()) {
            return Err(self.wrong("has an angle behind the hyphen: it belongs to where the beam enters"));
        }
        if !self.take('O') {
            return Err(if self.rest().is_empty() {
                self.refused("an oblique view ends in O")
            } else {
                self.unread("is neither a direction nor the O that an oblique view ends in")
            });
        }
        if !self.rest().is_empty() {
            return Err(self.unread("stands after the end"));
        }
        self.oblique(entry, exit)
    }

    fn half(&mut self) -> Read<Half> {
        let from = self.direction()?;
        let mut towards = Vec::new();
        while towards.len() < 2 {
            let began = self.at;
            let degrees = self.degrees()?;
            if degrees.is_none() && Direction::at_start_of(self.rest()).is_none() {
                break;
            }
            let direction = self.direction()?;
            if let Some(degrees) = degrees {
                self.allowed(began, degrees, direction)?;
            }
            towards.push((degrees, direction));
        }
        if towards.is_empty() && !self.rest().is_empty() && !self.rest().starts_with(['-', 'O', 'o']) {
            return Err(self.unread("is no direction"));
        }
        Ok(Half { from, towards })
    }

    fn direction(&mut self) -> Read<Direction> {
        match Direction::at_start_of(self.rest()) {
            Some((direction, length)) => {
                self.at += length;
                Ok(direction)
            }
            None if self.rest().is_empty() => Err(self.refused("a direction is expected")),
            None => Err(self.unread("is no direction")),
        }
    }

    fn degrees(&mut self) -> Read<Option<u8>> {
        let digits = self.rest().bytes().take_while(u8::is_ascii_digit).count();
        if digits == 0 {
            return Ok(None);
        }
        let number = self.rest().get(..digits).and_then(|digits| digits.parse().ok());
        let degrees = number.ok_or_else(|| self.refused("an angle that no beam has"))?;
        self.at += digits;
        Ok(Some(degrees))
    }

    fn allowed(&self, at: usize, degrees: u8, towards: Direction) -> Read<()> {
        let from_below = towards == Direction::Distal && FROM_BELOW_DEGREES.contains(&degrees);
        if from_below || USUAL_DEGREES.contains(&degrees) {
            return Ok(());
        }
        let here = Reader { text: self.text, at, end: self.end };
        Err(here.refused("an angle outside 1 to 90 degrees (towards distal also 95 to 135)"))
    }

    fn take(&mut self, wanted: char) -> bool {
        let is_there = self.rest().chars().next().is_some_and(|letter| letter.eq_ignore_ascii_case(&wanted));
        self.at += usize::from(is_there);
        is_there
    }

    /// An error that names the letter here.
    fn unread(&self, what: &str) -> ProjectionError {
        let letter = self.rest().chars().next().map(|letter| format!("`{letter}` {what}"));
        self.refused(&letter.unwrap_or_else(|| what.to_owned()))
    }

    fn along(&self, read: &Half) -> Read<View> {
        if read.towards.iter().any(|(degrees, _)| degrees.is_some()) {
            return Err(self.wrong("has an angle, which only an oblique view (such as D60Pr-PaDiO) has"));
        }
        let directions: Vec<Direction> = read.directions().collect();
        match directions[..] {
            [Direction::Left, Direction::Right, Direction::Lateral]
            | [Direction::Right, Direction::Left, Direction::Lateral] => {
                Ok(View::Along(directions[0], directions[1]))
            }
            [Direction::Left, Direction::Right] | [Direction::Right, Direction::Left] => {
                Err(self.refused("the L of lateral is missing"))
            }
            [entry, exit]
                if entry.faces(exit) || (entry, exit) == (Direction::Lateral, Direction::Lateral) =>
            {
                Ok(View::Along(entry, exit))
            }
            [entry, exit] => Err(self.wrong(&format!(
                "is no straight beam: what enters {} does not leave {}",
                entry.word(),
                exit.word()
            ))),
            [_] => Err(self.wrong("does not say where the beam leaves")),
            _ => Err(self.wrong("has three directions and no hyphen between entry and exit")),
        }
    }

    fn oblique(&self, entry: Half, exit: Half) -> Read<View> {
        // Told first: a right and a left of the horse face each other where a rostral and a lateral do not.
        let (entry, exit) = sides(entry, exit);
        for half in [&entry, &exit] {
            let directions: Vec<Direction> = half.directions().collect();
            if directions.len() < 2 {
                return Err(self
                    .wrong("has a side of the hyphen with one direction; an oblique beam has two or three"));
            }
            let clash = directions.iter().enumerate().find(|(place, one)| {
                directions.iter().skip(place + 1).any(|other| one.faces(*other) || *one == other)
            });
            if let Some((_, one)) = clash {
                return Err(self.wrong(&format!("says {} together with itself or its opposite", one.word())));
            }
        }
        let faces = entry.directions().any(|one| exit.directions().any(|other| one.faces(other)));
        if faces {
            Ok(View::Oblique(entry, exit))
        } else {
            Err(self.wrong("leaves by no side that faces one it enters by"))
        }
    }
}

/// `R` on one end and `L` on the other are the right and the left of the horse, since rostral never faces lateral.
fn sides(entry: Half, exit: Half) -> (Half, Half) {
    let holds = |half: &Half, wanted| half.directions().any(|direction| direction == wanted);
    let (rostral, lateral) = (Direction::Rostral, Direction::Lateral);
    let apart = (holds(&entry, rostral) && holds(&exit, lateral))
        || (holds(&entry, lateral) && holds(&exit, rostral));
    if !apart {
        return (entry, exit);
    }
    let side = |direction| match direction {
        Direction::Rostral => Direction::Right,
        Direction::Lateral => Direction::Left,
        other => other,
    };
    (entry.map(side), exit.map(side))
}
