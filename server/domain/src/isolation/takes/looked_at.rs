//! A design looked at, in words: what is doubtful in its circuit, what differs from another
//! revision, what each position takes.

use super::told::{self, OtherwiseRow, SoundRow, TakesRow};
use super::trial::{Trial, Tried};
use crate::circuit::check::{check, check_against};
use crate::circuit::compiled::CompiledCircuit;
use crate::configuration::car_type::CarType;
use crate::worked::MissingFact;
use std::sync::Arc;

/// What there is to say of a design, alone or beside another revision of it.
#[derive(Debug)]
pub struct LookedAt {
    /// What is doubtful in it, or what is wrong with it.
    pub remarks: Vec<String>,
    /// The revision it is compared with.
    pub against: Option<String>,
    /// Lines of text that only that one has.
    pub gone: Vec<String>,
    /// Lines of text that only this one has.
    pub new: Vec<String>,
    /// The formation it was tried in, as text.
    pub formation: String,
    /// The car that was looked at in it.
    pub car: String,
    /// What is missing to tell the rest.
    pub lacking: Vec<MissingFact>,
    /// What works with everything open.
    pub sound: Vec<SoundRow>,
    /// What takes something else than before.
    pub otherwise: Vec<OtherwiseRow>,
    /// What each position takes.
    pub takes: Vec<TakesRow>,
}

impl LookedAt {
    /// Looks at a design, beside another if there is one, in a formation that has it. Two
    /// evaluations of the train for each position and mode.
    pub fn of(
        design: &Arc<CarType>,
        against: Option<&Arc<CarType>>,
        trial: Option<&Trial>,
    ) -> Self {
        let tried = match trial {
            None => Err(vec![MissingFact {
                what: "a car to try it in; name a formation".into(),
                of: {
                    let built_to = against.unwrap_or(design);
                    format!("car type {} revision {}", built_to.name, built_to.revision)
                },
            }]),
            Some(trial) => trial.run(design, against).map_err(|missing| missing.0),
        };
        let (tried, lacking) = match tried {
            Ok(tried) => (tried, Vec::new()),
            Err(lacking) => (Tried::default(), lacking),
        };
        let (gone, new) = against.map_or_else(Default::default, |old| {
            old.circuit.differences(&design.circuit)
        });
        let remarks = CompiledCircuit::new(design).map(|circuit| {
            let mut remarks = check(&circuit);
            remarks.extend(against.iter().flat_map(|old| check_against(&circuit, old)));
            remarks
        });
        Self {
            remarks: match remarks {
                Ok(remarks) => remarks.iter().map(ToString::to_string).collect(),
                Err(faults) => faults.iter().map(ToString::to_string).collect(),
            },
            against: against.map(|old| old.revision.to_string()),
            gone,
            new,
            formation: trial.map(Trial::text).unwrap_or_default(),
            car: tried.car,
            lacking,
            sound: told::sound_rows(&tried.sound, tried.sound_before.as_deref()),
            otherwise: against.map_or_else(Vec::new, |old| {
                told::otherwise((design, old), &tried.otherwise)
            }),
            takes: told::rows(design, &tried.takes),
        }
    }

    /// Whether brakes of the sound train do not work that did with the other revision.
    pub fn sound_is_worse(&self) -> bool {
        self.sound.iter().any(|row| row.worse)
    }
}
