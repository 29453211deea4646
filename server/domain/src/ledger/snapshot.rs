//! A car as it was told at a time, for comparing.

use super::departures::OnCar;
use super::dossier::Dossier;
use crate::configuration::compared::{Filled, Settings, Snapshot, ToldOf};
use crate::configuration::setting::told;
use crate::identity::Revision;
use crate::time::Instant;

impl Snapshot {
    /// What is recorded of the places of a car, and said of the components that stand there, by a
    /// time.
    pub fn of(revision: &Revision, on_car: &OnCar, (dossier, at): (&Dossier, Instant)) -> Self {
        let filled: Filled = on_car
            .stands
            .iter()
            .map(|(position, stands)| (position.clone(), stands.component.clone()))
            .collect();
        let told = filled.values().map(|component| {
            let told = ToldOf {
                condition: dossier.condition_at(component, at),
                modification: dossier.modification_at(component, at).cloned(),
            };
            (component.clone(), told)
        });
        Self {
            revision: revision.clone(),
            told: told.collect(),
            settings: settings(on_car),
            filled,
        }
    }
}

fn settings(on_car: &OnCar) -> Settings {
    let mut settings = Settings::new();
    for (position, made) in &on_car.settings {
        let changed = on_car.changed(position);
        for one in made {
            let name = &one.made.setting;
            if let Some(last) = told(made, name, (changed, Instant::LATEST)) {
                let value = last.made.value.clone();
                settings.insert((position.clone(), name.clone()), value);
            }
        }
    }
    settings
}
