//! What a position is called on its button.

use domain::configuration::car_type::{CarType, Position};
use std::collections::HashMap;

/// The most characters of a name on a button.
const LABEL_MAX_CHARS: usize = 3;

/// The short names of a car type, and how many positions have each.
pub(crate) struct Labels<'a> {
    short: HashMap<&'a str, usize>,
}

impl<'a> Labels<'a> {
    /// Linear in positions.
    pub(crate) fn of(car_type: &'a CarType) -> Self {
        let mut short = HashMap::new();
        for position in &car_type.positions {
            *short.entry(short_label(position)).or_default() += 1;
        }
        Self { short }
    }

    /// What the label on the car says, where it is short enough for a button; else the last part of
    /// the code, or all of it where another position of the car has the same: two cocks of one name
    /// would be mistaken for one another.
    pub(crate) fn label<'p>(&self, position: &'p Position) -> &'p str {
        let short = short_label(position);
        if self
            .short
            .get(short)
            .is_some_and(|positions| *positions > 1)
        {
            let code = position.code.as_str();
            code.strip_prefix('=').unwrap_or(code)
        } else {
            short
        }
    }
}

/// What the label on the car says, however long.
pub(crate) fn on_car(position: &Position) -> Option<String> {
    position.label_on_car().map(|alias| alias.name.clone())
}

fn short_label(position: &Position) -> &str {
    let code = position.code.as_str();
    let product = code.rsplit('-').next().unwrap_or(code);
    let label = position.label_on_car().map(|alias| alias.name.as_str());
    let short = label.filter(|name| name.chars().count() <= LABEL_MAX_CHARS);
    short.unwrap_or(product)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    /// The labels of two positions with some names, each with its source.
    fn labels(aliases: [&[(&str, &str)]; 2]) -> Vec<String> {
        let position = |code: &str, names: &[(&str, &str)]| {
            let alias = |(name, source): &(&str, &str)| json!({"name": name, "source": source});
            let aliases: Vec<_> = names.iter().map(alias).collect();
            json!({"code": code, "title": "cylinder cock", "kind": "isolating_cock",
                "along_mm": 5_000, "approved": [], "aliases": aliases})
        };
        let car_type: CarType = serde_json::from_value(json!({
            "name": "TM-X", "revision": "1", "fleet": "Sedge", "title": "motor car",
            "vehicle_kind": "car", "length_mm": 24_000, "speed_max_km_h": 140,
            "daily_km_max": 1_000, "bogies": [], "masses": [], "braked_weights": [],
            "circuit": {"nodes": [], "lines": []},
            "positions": [position("=BS1-QM1", aliases[0]), position("=BS2-QM1", aliases[1])],
        }))
        .unwrap();
        let (labels, positions) = (Labels::of(&car_type), car_type.positions.iter());
        positions
            .map(|position| labels.label(position).to_owned())
            .collect()
    }

    #[test]
    fn no_two_positions_of_a_car_bear_one_label() {
        let on_car = |name| (name, "car label");
        let codes = ["BS1-QM1", "BS2-QM1"];
        assert_eq!(labels([&[on_car("7")], &[on_car("8")]]), ["7", "8"]);
        let long = labels([&[on_car("cock 1")], &[on_car("cock 2")]]);
        assert_eq!(long, codes);
        assert_eq!(labels([&[on_car("7")], &[]]), ["7", "QM1"]);
        assert_eq!(labels([&[on_car("7")], &[on_car("7")]]), codes);
    }

    #[test]
    fn a_number_on_a_drawing_is_not_taken_for_the_label_on_the_car() {
        let crossed = [
            &[("8", "brake diagram"), ("7", "car label")][..],
            &[("7", "brake diagram"), ("8", "Car label")][..],
        ];
        assert_eq!(labels(crossed), ["7", "8"]);
        let drawn = [&[("7", "drawing")][..], &[("8", "drawing")][..]];
        assert_eq!(labels(drawn), ["BS1-QM1", "BS2-QM1"]);
    }
}
