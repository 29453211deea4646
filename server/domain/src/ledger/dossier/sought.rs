//! Whether the design data knows what is looked for on cars: that nothing was found of what nobody
//! ever heard of would be no answer.

use super::Documents;
use crate::configuration::car_type::Position;
use crate::configuration::looked_for::{LookedFor, StateSought};
use crate::configuration::setting::Setting;
use crate::identity::{PartNumber, PositionCode, SettingName};
use crate::unreadable::Unreadable;
use std::collections::BTreeSet;

/// Names that are told of what is known; of more it is said that there are more.
const TOLD_MAX: usize = 20;

impl Documents {
    /// What of a question no part and no design knows: its field, with what is known instead. Linear
    /// in the positions of all revisions. Batches are no design data.
    pub fn not_designed(&self, sought: &LookedFor) -> Option<(&'static str, Unreadable)> {
        let unknown =
            |field, given: &str, expected| Some((field, Unreadable::new(field, given, expected)));
        match sought {
            LookedFor::Serials { part, .. } | LookedFor::Batch { part, .. } => {
                self.not_a_part(part)
            }
            LookedFor::State { part, state } => {
                let Some(known) = self.part(part) else {
                    return self.not_a_part(part);
                };
                let states = &known.modification_states;
                match state {
                    StateSought::Is(state) if !states.contains(state) => {
                        let expected = match told(states.iter().map(ToString::to_string)) {
                            states if states.is_empty() => {
                                format!("nothing: part {part} has no modification states")
                            }
                            states => format!("a state that part {part} can be in: {states}"),
                        };
                        unknown("state", state.as_str(), expected)
                    }
                    _ => None,
                }
            }
            LookedFor::Setting { setting, place, .. } => {
                let asking = self.asking(setting);
                if asking.is_empty() {
                    let known = told(self.settings_asked().into_iter().map(ToString::to_string));
                    let expected = match known.as_str() {
                        "" => "nothing: no design asks for a setting".to_owned(),
                        known => format!("a setting that a design asks for: {known}"),
                    };
                    return unknown("setting", setting.as_str(), expected);
                }
                let called = asking.iter().any(|one| one.is_called(place));
                if place.is_empty() || called {
                    return None;
                }
                let codes: BTreeSet<&PositionCode> = asking.iter().map(|one| &one.code).collect();
                let codes = told(codes.into_iter().map(ToString::to_string));
                let expected = format!("a position that is asked for {setting}: {codes}");
                unknown("position", place, expected)
            }
        }
    }

    /// The names of the settings that some revision asks for.
    pub fn settings_asked(&self) -> BTreeSet<&SettingName> {
        let designs = self.car_types.values();
        let positions = designs.flat_map(|design| &design.document.positions);
        let settings = positions.flat_map(|position| &position.settings);
        settings.map(Setting::name).collect()
    }

    fn asking(&self, setting: &SettingName) -> Vec<Position> {
        let designs = self.car_types.values();
        let places = designs.flat_map(|design| self.places_set_by(&design.document, setting));
        places.collect()
    }

    fn not_a_part(&self, part: &PartNumber) -> Option<(&'static str, Unreadable)> {
        let expected = "one that is in the register";
        let missing = self.part(part).is_none();
        missing.then(|| ("part", Unreadable::new("part", part.as_str(), expected)))
    }
}

/// Names with commas between them.
fn told(names: impl Iterator<Item = String>) -> String {
    let mut names: Vec<String> = names.take(TOLD_MAX + 1).collect();
    if TOLD_MAX < names.len() {
        names.truncate(TOLD_MAX);
        names.push("and more".to_owned());
    }
    names.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::looked_for::SettingSought;
    use crate::configuration::part::Part;
    use crate::ledger::entry::Seq;
    use std::sync::Arc;

    #[test]
    fn a_state_is_known_where_its_part_can_be_in_it_and_else_it_is_told_which_are() {
        let part: Part = serde_json::from_str(
            r#"{"number":"DV/230","title":"valve","kind":"distributor_valve",
                "modification_states":["A","B"]}"#,
        )
        .expect("a part");
        let mut documents = Documents::default();
        documents.put_part(Seq(1), Arc::new(part));
        let sought = |part: &str, state: &str| LookedFor::State {
            part: part.parse().expect("a part"),
            state: StateSought::Is(state.parse().expect("a state")),
        };
        assert_eq!(documents.not_designed(&sought("DV/230", "B")), None);
        let (field, why) = documents
            .not_designed(&sought("DV/230", "Z"))
            .expect("no such state");
        assert_eq!((field, why.given.as_str()), ("state", "Z"));
        assert!(why.expected.ends_with(": A, B"), "{}", why.expected);
        let (field, _) = documents
            .not_designed(&sought("DV/999", "A"))
            .expect("no such part");
        assert_eq!(field, "part");
        let setting = LookedFor::Setting {
            setting: "opning pressure".parse().expect("a setting"),
            place: String::new(),
            sought: SettingSought::NotTold,
        };
        let (field, why) = documents.not_designed(&setting).expect("no such setting");
        assert_eq!(field, "setting");
        assert!(why.expected.starts_with("nothing: "), "{}", why.expected);
    }
}
