//! Units of a dose as types, so that milligrams are never taken for millilitres.

use std::fmt;

macro_rules! units {
    ($($(#[$doc:meta])* $name:ident $unit:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(pub f64);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{} {}", shown(self.0), $unit)
            }
        }
    )*};
}

units! {
    Kg "kg";
    Mg "mg";
    Ml "ml";
    /// Milligrams for each kilogram of the horse.
    MgPerKg "mg/kg";
    /// How strong it is.
    MgPerMl "mg/ml";
}

/// Three digits that count, as many as a syringe can be read by.
fn shown(number: f64) -> String {
    let decimals = match number.abs() {
        n if n >= 100.0 => 0,
        n if n >= 10.0 => 1,
        n if n >= 1.0 => 2,
        n if n >= 0.1 => 3,
        _ => 4,
    };
    let words = format!("{number:.decimals$}");
    if words.contains('.') { words.trim_end_matches('0').trim_end_matches('.').to_owned() } else { words }
}

impl MgPerKg {
    /// Milligrams for a horse of this weight.
    pub fn of(self, weight: Kg) -> Mg {
        Mg(self.0 * weight.0)
    }

    /// Out of milligrams a pound, as labels of the United States have it.
    pub fn per_pound(mg_per_lb: f64) -> Self {
        const KG_OF_POUND: f64 = 0.453_592_37;
        MgPerKg(mg_per_lb / KG_OF_POUND)
    }
}

impl Mg {
    pub fn per_kg(self, weight: Kg) -> MgPerKg {
        MgPerKg(self.0 / weight.0)
    }

    /// The volume at a strength.
    pub fn at(self, strength: MgPerMl) -> Ml {
        Ml(self.0 / strength.0)
    }
}

impl Ml {
    pub fn at(self, strength: MgPerMl) -> Mg {
        Mg(self.0 * strength.0)
    }
}
