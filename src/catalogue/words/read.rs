//! Reads the vocabulary's first column: `kind:argument`, checked against the rest of the catalogue.

use std::sync::Arc;

use super::{Ground, Meaning, Move, Outcome, Spot, Unit, Words};
use crate::catalogue::{Catalogue, FieldKind, Limb, Pair, Side};

/// Reads `kind:argument`.
pub(super) fn read(text: &str, words: &Words, catalogue: &Catalogue) -> Result<Meaning, String> {
    let (kind, argument) = text.split_once(':').unwrap_or((text, ""));
    let reading = Reading { argument, words, catalogue };
    if argument.is_empty() {
        return plain(kind).ok_or_else(|| format!("has a meaning `{text}` that is not known"));
    }
    reading.with_argument(kind).unwrap_or_else(|| Err(format!("has a meaning `{text}` that is not known")))
}

/// Meanings that stand alone.
fn plain(kind: &str) -> Option<Meaning> {
    Some(match kind {
        "both" => Meaning::BothSides,
        "others" => Meaning::Others,
        "also" => Meaning::Also,
        "elsewhere" => Meaning::Elsewhere,
        "oftwo" => Meaning::OfTwo,
        "other" => Meaning::Other,
        "midline" => Meaning::Side(Side::M),
        "fore" => Meaning::Pair(Pair::Fore),
        "hind" => Meaning::Pair(Pair::Hind),
        "limbword" => Meaning::LimbWord,
        "quality" => Meaning::Quality,
        "ofnoun" => Meaning::OfNoun,
        "partof" => Meaning::PartOf,
        "partway" => Meaning::Partway,
        "press" => Meaning::Press,
        "gradeword" => Meaning::GradeWord,
        "testers" => Meaning::Testers(None),
        "testers+" => Meaning::Testers(Some(true)),
        "testers-" => Meaning::Testers(Some(false)),
        "not" => Meaning::Not,
        "absent" => Meaning::Absent,
        "and" => Meaning::And,
        "or" => Meaning::Or,
        "but" => Meaning::But,
        "then" => Meaning::Then,
        "fill" => Meaning::Fill,
        "with" => Meaning::With,
        "prep" => Meaning::Preposition,
        "nad" => Meaning::Nad,
        "rest" => Meaning::Rest,
        "whole" => Meaning::Whole,
        "there" => Meaning::There,
        "twin" => Meaning::Twin,
        "present" => Meaning::Present,
        "beyond" => Meaning::Beyond,
        "them" => Meaning::Them,
        "bends" => Meaning::Bends,
        "down" => Meaning::Down,
        "extent" => Meaning::Extent,
        "same" => Meaning::Same,
        "fix" => Meaning::Fix,
        "scratch" => Meaning::Scratch,
        "aside" => Meaning::Aside,
        "tpr" => Meaning::Tpr,
        "diagonal" => Meaning::Diagonal,
        "straight" => Meaning::Straight,
        "lame" => Meaning::Lame,
        "sound" => Meaning::Sound,
        "nwb" => Meaning::NonWeightBearing,
        "flexion" => Meaning::FlexionWord,
        "blockword" => Meaning::BlockWord,
        "improved" => Meaning::Improved,
        "agent" => Meaning::Agent,
        "persite" => Meaning::PerSite,
        _ => return None,
    })
}

struct Reading<'a> {
    argument: &'a str,
    words: &'a Words,
    catalogue: &'a Catalogue,
}

impl Reading<'_> {
    /// `None` when the kind is not known.
    fn with_argument(&self, kind: &str) -> Option<Result<Meaning, String>> {
        Some(match kind {
            "limb" => self.limbs(),
            "side" => self.side().map(Meaning::Side),
            "weak" => self.side().map(Meaning::WeakSide),
            "spot" => self.spot(),
            "place" => {
                let (codes, plural) = self.plural();
                self.place(codes).map(|spot| Meaning::Spot { spot, plural })
            }
            "aspect" => {
                self.code(self.catalogue.modifiers.aspects.get(self.argument).is_some(), Meaning::Aspect)
            }
            "finding" => self.finding(false),
            "is" => self.finding(true),
            "none" => self.code(self.catalogue.finding(self.argument).is_some(), Meaning::Lacks),
            "sign" => self.sign(false, false),
            "signs" => self.sign(false, true),
            "dual" => self.sign(true, false),
            "pick" => self.pick(),
            "bent" => {
                read(self.argument, self.words, self.catalogue).map(|says| Meaning::Bent(Box::new(says)))
            }
            "trait" => self.of_some_places(),
            "number" if self.argument.starts_with("FT_") => self.measure(),
            "number" => self.number().map(Meaning::Number),
            "echo" => self.number().map(Meaning::Echo),
            "outof" => self.number().map(Meaning::OutOf),
            "hold" => self.number().map(Meaning::Hold),
            "site" => self.code(self.catalogue.tester_site(self.argument).is_some(), Meaning::TesterSite),
            "grade" => self.grade(),
            "change" => self.number().map(Meaning::Change),
            "vital" => self.code(self.catalogue.vital(self.argument).is_some(), Meaning::Vital),
            "unit" => self.named(&UNITS).map(Meaning::Unit),
            "move" => self.named(&MOVES).map(Meaning::Move),
            "ground" => self.named(&GROUNDS).map(Meaning::Ground),
            "result" => self.named(&OUTCOMES).map(Meaning::Outcome),
            "level" => self.tests().map(|(fore, hind)| Meaning::FlexionLevel { fore, hind }),
            "test" => self.tests().map(|(fore, hind)| Meaning::Flexion { fore, hind }),
            "block" => self.block(),
            _ => return None,
        })
    }

    fn unknown(&self) -> String {
        format!("names `{}`, which does not exist", self.argument)
    }

    fn code(&self, exists: bool, meaning: fn(String) -> Meaning) -> Result<Meaning, String> {
        if exists { Ok(meaning(self.argument.to_owned())) } else { Err(self.unknown()) }
    }

    fn named<T: Copy>(&self, names: &[(&str, T)]) -> Result<T, String> {
        names
            .iter()
            .find(|(name, _)| *name == self.argument)
            .map(|(_, value)| *value)
            .ok_or_else(|| self.unknown())
    }

    fn number(&self) -> Result<f64, String> {
        self.argument.parse().map_err(|_| format!("`{}` is not a number", self.argument))
    }

    fn limbs(&self) -> Result<Meaning, String> {
        let limbs: Result<Vec<Limb>, _> = self.argument.split(',').map(str::parse).collect();
        limbs.map(Meaning::Limbs).map_err(|error| error.to_string())
    }

    fn side(&self) -> Result<Side, String> {
        self.argument.parse().map_err(|error: crate::catalogue::PlaceError| error.to_string())
    }

    /// Codes, and whether a star says that the words are plural.
    fn plural(&self) -> (&str, bool) {
        self.argument.strip_suffix('*').map_or((self.argument, false), |code| (code, true))
    }

    fn spot(&self) -> Result<Meaning, String> {
        let (code, plural) = self.plural();
        let spot = self.words.spots.get(code).ok_or_else(|| self.unknown())?;
        Ok(Meaning::Spot { spot: Arc::new(spot.clone()), plural })
    }

    /// Regions of one word: `A|B`, and `A,B|C` where two of a limb may be meant.
    fn place(&self, text: &str) -> Result<Arc<Spot>, String> {
        let codes = text.split(['|', ',']);
        let regions: Option<Vec<_>> = codes.map(|code| self.catalogue.region(code)).collect();
        regions.map(|regions| Arc::new(Spot::of(&regions))).ok_or_else(|| self.unknown())
    }

    fn finding(&self, says_so: bool) -> Result<Meaning, String> {
        let code = self.catalogue.finding(self.argument).ok_or_else(|| self.unknown())?.code.clone();
        Ok(Meaning::Finding { code, says_so })
    }

    fn sign(&self, or_place: bool, plural: bool) -> Result<Meaning, String> {
        let (code, at) = self.argument.split_once('@').ok_or_else(|| self.unknown())?;
        let (at, grade) = at.split_once('=').map_or((at, None), |(at, grade)| (at, Some(grade)));
        let code = self.catalogue.finding(code).ok_or_else(|| self.unknown())?.code.clone();
        let grade = grade.map(str::parse).transpose().map_err(|_| self.unknown())?;
        Ok(Meaning::Sign { code, spot: self.place(at)?, grade, or_place, plural })
    }

    fn pick(&self) -> Result<Meaning, String> {
        let (region, rest) = self.argument.split_once('.').ok_or_else(|| self.unknown())?;
        let (field, value) = rest.split_once('=').ok_or_else(|| self.unknown())?;
        let known =
            self.catalogue.region(region).and_then(|row| row.field(field)).ok_or_else(|| self.unknown())?;
        let pick = known.pick(value);
        if pick.is_none() && known.kind != FieldKind::YesNo {
            return Err(self.unknown());
        }
        Ok(Meaning::Pick {
            spot: self.place(region)?,
            field: field.to_owned(),
            value: pick.map(|pick| pick.code.clone()),
            normal: pick.is_some_and(|pick| pick.normal),
        })
    }

    /// `FT_SOLE.sole=flat@FT_SOLE|foot`, or any other meaning: `is:SPAS@back|neck`.
    fn of_some_places(&self) -> Result<Meaning, String> {
        let (says, of) = self.argument.rsplit_once('@').ok_or_else(|| self.unknown())?;
        let known =
            |code: &str| self.words.spots.get(code).is_some() || self.catalogue.region(code).is_some();
        let of: Vec<String> = of.split('|').map(str::to_owned).collect();
        if !of.iter().all(|code| known(code)) {
            return Err(self.unknown());
        }
        let says = if says.contains('=') {
            (Reading { argument: says, ..*self }).pick()?
        } else {
            read(says, self.words, self.catalogue)?
        };
        Ok(Meaning::Trait { says: Box::new(says), of })
    }

    fn measure(&self) -> Result<Meaning, String> {
        let (region, field) = self.argument.split_once('.').ok_or_else(|| self.unknown())?;
        let known = self.catalogue.region(region).and_then(|row| row.field(field));
        known.filter(|field| field.kind == FieldKind::Number).ok_or_else(|| self.unknown())?;
        Ok(Meaning::Measure { spot: self.place(region)?, field: field.to_owned() })
    }

    fn grade(&self) -> Result<Meaning, String> {
        let (three, four) = self.argument.split_once('/').unwrap_or((self.argument, self.argument));
        match (three.parse(), four.parse()) {
            (Ok(three), Ok(four)) => Ok(Meaning::Grade(three, four)),
            _ => Err(self.unknown()),
        }
    }

    /// What is meant on a fore and on a hind: `A|B`, or one for both.
    fn fore_and_hind(&self) -> (&str, &str) {
        self.argument.split_once('|').unwrap_or((self.argument, self.argument))
    }

    /// A test on a fore and one on a hind; one code alone goes to the limbs it is done on.
    fn tests(&self) -> Result<(Option<String>, Option<String>), String> {
        let (fore, hind) = self.fore_and_hind();
        let known = |code: &str, pair: Pair| {
            let test = self.catalogue.flexion(code).ok_or_else(|| self.unknown())?;
            Ok::<_, String>(test.limbs.contains(&pair).then(|| test.code.clone()))
        };
        Ok((known(fore, Pair::Fore)?, known(hind, Pair::Hind)?))
    }

    fn block(&self) -> Result<Meaning, String> {
        let (fore, hind) = self.fore_and_hind();
        let known = |code: &str| self.catalogue.block(code).map(|block| block.code.clone());
        match (known(fore), known(hind)) {
            (Some(fore), Some(hind)) => Ok(Meaning::Block { fore, hind }),
            _ => Err(self.unknown()),
        }
    }
}

const UNITS: [(&str, Unit); 15] = [
    ("ml", Unit::Ml),
    ("mm", Unit::Mm),
    ("cm", Unit::Cm),
    ("in", Unit::Inch),
    ("s", Unit::Seconds),
    ("min", Unit::Minutes),
    ("h", Unit::Hours),
    ("pct", Unit::Percent),
    ("kg", Unit::Kg),
    ("lb", Unit::Lb),
    ("c", Unit::Celsius),
    ("f", Unit::Fahrenheit),
    ("deg", Unit::Degrees),
    ("bpm", Unit::Beats),
    ("breaths", Unit::Breaths),
];

const MOVES: [(&str, Move); 14] = [
    ("walk", Move::Walk),
    ("trot", Move::Trot),
    ("lunge", Move::Lunge),
    ("circle", Move::Circle),
    ("tight", Move::TightCircle),
    ("fig8", Move::FigureOfEight),
    ("rising", Move::Rising),
    ("sitting", Move::Sitting),
    ("canter", Move::Canter),
    ("ridden", Move::Ridden),
    ("up", Move::Uphill),
    ("down", Move::Downhill),
    ("back", Move::Back),
    ("work", Move::AfterWork),
];

const GROUNDS: [(&str, Ground); 2] = [("hard", Ground::Hard), ("soft", Ground::Soft)];

const OUTCOMES: [(&str, Outcome); 3] =
    [("pos", Outcome::Positive), ("neg", Outcome::Negative), ("unsure", Outcome::Unsure)];
