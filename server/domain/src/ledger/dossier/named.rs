//! Places of cars by any of their names: the code, or what a drawing, a label or a spares book
//! calls them.

use super::Documents;
use crate::configuration::car_type::CarType;
use crate::identity::PositionCode;
use std::collections::BTreeSet;
use std::fmt;

/// Why a text names no one place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotOnePlace {
    /// No place has that name.
    None,
    /// Several have it.
    Several(BTreeSet<PositionCode>),
}

impl fmt::Display for NotOnePlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::None => f.write_str("a position code of the car, or another of its names"),
            Self::Several(codes) => {
                let codes: Vec<&str> = codes.iter().map(PositionCode::as_str).collect();
                write!(f, "one of {}, which all have that name", codes.join(", "))
            }
        }
    }
}

impl Documents {
    /// All places of cars of a type that have a name: the one of that code, or else those that are
    /// also called so. Case does not matter. Linear in the positions of the type.
    pub fn places_named(&self, car_type: &CarType, text: &str) -> BTreeSet<PositionCode> {
        let text = text.trim();
        let is = |name: &str| name.to_lowercase() == text.to_lowercase();
        let positions = &car_type.positions;
        let listed = positions.iter().find(|one| is(one.code.as_str()));
        let code = listed.map(|one| one.code.clone()).or_else(|| {
            let code = text.parse().ok()?;
            self.place(car_type, &code).map(|place| place.position.code)
        });
        if let Some(code) = code {
            return BTreeSet::from([code]);
        }
        // Drawings leave out the sign with which a code begins.
        let bare = |code: &str| code.strip_prefix('=').is_some_and(is);
        let called = positions.iter().filter(|one| {
            bare(one.code.as_str()) || one.aliases.iter().any(|alias| is(&alias.name))
        });
        called.map(|one| one.code.clone()).collect()
    }

    /// The one place of cars of a type that a text names. Nothing is guessed.
    pub fn place_named(&self, car_type: &CarType, text: &str) -> Result<PositionCode, NotOnePlace> {
        let mut named = self.places_named(car_type, text);
        match named.len() {
            0 => Err(NotOnePlace::None),
            1 => named.pop_first().ok_or(NotOnePlace::None),
            _ => Err(NotOnePlace::Several(named)),
        }
    }
}
