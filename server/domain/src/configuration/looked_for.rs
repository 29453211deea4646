//! What the cars of the register are searched for when a defect found on one may be on all.

use crate::configuration::component::ComponentRef;
use crate::configuration::setting::{SettingAt, SettingStanding, SettingValue};
use crate::identity::{Batch, ModificationState, PartNumber, SettingName, fold};
use serde::{Deserialize, Serialize};
use std::fmt;

/// What is looked for on cars.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum LookedFor {
    /// Components of a part.
    Serials {
        /// The part.
        part: PartNumber,
        /// How the serial number begins. Empty is any.
        begins: String,
    },
    /// Components of a part by their modification state.
    State {
        /// The part.
        part: PartNumber,
        /// Which state.
        state: StateSought,
    },
    /// Components of a part by the lot that they were made in.
    Batch {
        /// The part.
        part: PartNumber,
        /// Which lot.
        batch: BatchSought,
    },
    /// Positions by a setting that the baseline of the day asks for there.
    Setting {
        /// The setting.
        setting: SettingName,
        /// At positions of this code, title or other name; empty is at any.
        place: String,
        /// How it is set.
        sought: SettingSought,
    },
}

/// The modification state that is looked for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StateSought {
    /// This one.
    Is(ModificationState),
    /// It is not known. Any may be one that is looked for.
    NotKnown,
}

/// The batch that is looked for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BatchSought {
    /// This one, whatever case, blanks and hyphens it is written with.
    Is(Batch),
    /// It is not known. Any may be one that is looked for.
    NotKnown,
}

/// How what is looked for is set.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SettingSought {
    /// To this value.
    To(SettingValue),
    /// Not to the value that the baseline wants.
    Deviates,
    /// That is not told. Any place may be one that is looked for.
    NotTold,
}

impl SettingSought {
    /// Whether a place is set so. Where nothing is that could be set, nothing is: neither so nor
    /// in a way that is not told.
    pub fn is_met_by(&self, one: &SettingAt) -> bool {
        match (self, one.standing()) {
            (
                Self::To(value),
                SettingStanding::AsWanted(told)
                | SettingStanding::Deviates(told)
                | SettingStanding::OutOfRange(told),
            ) => told.made.value == *value,
            (Self::Deviates, SettingStanding::Deviates(_) | SettingStanding::OutOfRange(_)) => true,
            (Self::NotTold, SettingStanding::NotTold) => !one.is_vacant(),
            _ => false,
        }
    }
}

impl LookedFor {
    /// Whether a component in a modification state and of a batch, where these are known, is looked
    /// for or may be.
    pub fn may_be(
        &self,
        component: &ComponentRef,
        (known, of): (Option<&ModificationState>, Option<&Batch>),
    ) -> bool {
        match self {
            Self::Serials { part, begins } => {
                component.part == *part && component.serial.folded().starts_with(&fold(begins))
            }
            Self::State { part, state } => {
                let sought = match (state, known) {
                    (StateSought::Is(sought), Some(known)) => sought == known,
                    (StateSought::NotKnown, Some(_)) => false,
                    (_, None) => true,
                };
                component.part == *part && sought
            }
            Self::Batch { part, batch } => {
                let sought = match (batch, of) {
                    (BatchSought::Is(sought), Some(of)) => sought.folded() == of.folded(),
                    (BatchSought::NotKnown, Some(_)) => false,
                    (_, None) => true,
                };
                component.part == *part && sought
            }
            Self::Setting { .. } => false,
        }
    }

    /// The same, of what it cannot be told whether it is one: to be looked at as well. None where
    /// nothing is left untold.
    pub fn untold(&self) -> Option<Self> {
        match self {
            Self::State {
                part,
                state: StateSought::Is(_),
            } => Some(Self::State {
                part: part.clone(),
                state: StateSought::NotKnown,
            }),
            Self::Batch {
                part,
                batch: BatchSought::Is(_),
            } => Some(Self::Batch {
                part: part.clone(),
                batch: BatchSought::NotKnown,
            }),
            Self::Setting {
                setting,
                place,
                sought: SettingSought::To(_) | SettingSought::Deviates,
            } => Some(Self::Setting {
                setting: setting.clone(),
                place: place.clone(),
                sought: SettingSought::NotTold,
            }),
            _ => None,
        }
    }
}

impl fmt::Display for LookedFor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Serials { part, begins } if begins.is_empty() => write!(f, "part {part}"),
            Self::Serials { part, begins } => {
                write!(f, "part {part}, serial numbers that begin with {begins}")
            }
            Self::State { part, state } => match state {
                StateSought::Is(state) => write!(f, "part {part} in modification state {state}"),
                StateSought::NotKnown => {
                    write!(f, "part {part} whose modification state is not known")
                }
            },
            Self::Batch { part, batch } => match batch {
                BatchSought::Is(batch) => write!(f, "part {part} of batch {batch}"),
                BatchSought::NotKnown => write!(f, "part {part} whose batch is not known"),
            },
            Self::Setting {
                setting,
                place,
                sought,
            } => {
                write!(f, "{setting}")?;
                if !place.is_empty() {
                    write!(f, " at {place}")?;
                }
                match sought {
                    SettingSought::To(value) => write!(f, " set to {value}"),
                    SettingSought::Deviates => f.write_str(" not as the baseline wants it"),
                    SettingSought::NotTold => f.write_str(" not told"),
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::component::PositionRef;
    use crate::configuration::setting::{PlaceThen, SettingHow, SettingMade, SettingRecord};
    use crate::ledger::entry::Seq;
    use crate::time::Instant;

    /// A place at which something stands, or nothing.
    fn place(then: PlaceThen, value: Option<&str>) -> SettingAt {
        let at = PositionRef {
            car: "4101".parse().expect("a car"),
            position: "=BS-K1".parse().expect("a position"),
        };
        let since = Instant::from_microseconds(10).expect("a moment");
        let made = value.map(|value| SettingRecord {
            by: Seq(1),
            recorded_by: "T. Technician".parse().expect("a name"),
            since,
            made: SettingMade {
                at: at.clone(),
                setting: "opening pressure".parse().expect("a setting"),
                value: value.parse().expect("a value"),
                how: SettingHow::Made,
            },
        });
        SettingAt {
            position: at.position,
            setting: "opening pressure@8.5 bar@8.3 to 8.7"
                .parse()
                .expect("a setting"),
            told: made,
            place: then,
            needs_component: true,
        }
    }

    #[test]
    fn a_place_is_set_so_deviates_or_is_not_told_and_a_vacant_one_is_none_of_it() {
        let filled = PlaceThen {
            changed: None,
            filled: true,
        };
        let vacant = PlaceThen::default();
        let to = SettingSought::To("8.4 bar".parse().expect("a value"));
        let cases = [
            (place(filled, Some("8.4 bar")), [true, true, false]),
            (place(filled, Some("8.5 bar")), [false, false, false]),
            (place(filled, Some("8.40 bar")), [true, true, false]),
            (place(filled, None), [false, false, true]),
            (place(vacant, None), [false, false, false]),
        ];
        for (one, expected) in cases {
            let sought = [&to, &SettingSought::Deviates, &SettingSought::NotTold];
            let met = sought.map(|sought| sought.is_met_by(&one));
            assert_eq!(met, expected, "{one:?}");
        }
    }

    #[test]
    fn what_is_left_untold_is_asked_for_by_itself() {
        let state = |state| LookedFor::State {
            part: "DV/210".parse().expect("a part"),
            state,
        };
        let known = state(StateSought::Is("B".parse().expect("a state")));
        assert_eq!(known.untold(), Some(state(StateSought::NotKnown)));
        assert_eq!(state(StateSought::NotKnown).untold(), None);
        assert_eq!(known.to_string(), "part DV/210 in modification state B");
    }

    #[test]
    fn a_batch_is_looked_for_however_it_is_written_and_where_it_is_not_known() {
        let batch = |batch| LookedFor::Batch {
            part: "H1".parse().expect("a part"),
            batch,
        };
        let one = |part: &str| ComponentRef {
            part: part.parse().expect("a part"),
            serial: "L24-07-001".parse().expect("a serial number"),
        };
        let known: Batch = "L24-07".parse().expect("a batch");
        let other: Batch = "L24-08".parse().expect("a batch");
        let sought = batch(BatchSought::Is("l24 07".parse().expect("a batch")));
        assert!(sought.may_be(&one("H1"), (None, Some(&known))));
        assert!(!sought.may_be(&one("H1"), (None, Some(&other))));
        assert!(sought.may_be(&one("H1"), (None, None)), "it may be of it");
        assert!(!sought.may_be(&one("H2"), (None, Some(&known))));
        assert_eq!(sought.to_string(), "part H1 of batch l24 07");
        let untold = sought.untold().expect("what may be of it");
        assert_eq!(untold, batch(BatchSought::NotKnown));
        assert!(untold.may_be(&one("H1"), (None, None)));
        assert!(!untold.may_be(&one("H1"), (None, Some(&known))));
        assert_eq!(untold.untold(), None);
        let kept = serde_json::to_string(&sought).expect("JSON");
        assert_eq!(kept, r#"{"batch":{"part":"H1","batch":{"is":"l24 07"}}}"#);
    }
}
