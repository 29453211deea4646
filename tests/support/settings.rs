//! Settings in few words: a baseline that asks for some, and that one was made.

use domain::configuration::setting::{SettingHow, SettingMade};
use domain::identity::PositionCode;
use domain::ledger::command::Command;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use store::read::AsAt;
use store::read::settings::settings_at;

use crate::facts::{at, position};
use crate::fleet::{VALVE, car_type_with};
use crate::register::{Register, command};

/// A revision of the fleet's car type that asks for settings, each at a position.
pub fn asks_for(revision: &str, settings: &[(&str, &str)]) -> Fact {
    let Fact::CarTypeDefined(mut design) = car_type_with(revision, &[VALVE], None) else {
        panic!("a car type")
    };
    for (code, setting) in settings {
        let code: PositionCode = code.parse().expect("a position code");
        let mut positions = design.positions.iter_mut();
        let position = positions.find(|position| position.code == code);
        let setting = setting.parse().expect("a setting");
        position.expect("a position").settings.push(setting);
    }
    Fact::CarTypeDefined(design)
}

/// A setting was made.
pub fn set(car: &str, code: &str, setting: &str, value: &str) -> Fact {
    Fact::SettingMade(SettingMade {
        at: position(car, code),
        setting: setting.parse().expect("a setting"),
        value: value.parse().expect("a value"),
        how: SettingHow::Made,
    })
}

/// A setting was found so.
pub fn found(car: &str, code: &str, setting: &str, value: &str) -> Fact {
    Fact::SettingMade(SettingMade {
        at: position(car, code),
        setting: setting.parse().expect("a setting"),
        value: value.parse().expect("a value"),
        how: SettingHow::Found,
    })
}

/// The command that records one, with a reason.
pub fn set_because(moment: &str, fact: Fact, reason: &str) -> Command {
    Command {
        reason: reason.to_owned(),
        ..command(at(moment), fact)
    }
}

impl Register {
    /// Records a setting that is not the one wanted.
    pub async fn departing(&mut self, moment: &str, fact: Fact) -> Seq {
        let command = set_because(moment, fact, "no other spring in store");
        self.kept(command).await.seq
    }

    /// What is told of the settings of a car at a time, as known at another: position, name and
    /// value, or that it is not told.
    pub async fn settings(&self, car: &str, effective: &str, known: &str) -> Vec<String> {
        let mut view = self.store.view().await.expect("the register answers");
        let number = car.parse().expect("a car number");
        let record = view.car(&number).await.expect("the register answers");
        let record = record.expect("a known car");
        let (effective, known) = (at(effective), at(known));
        let on = domain::time::Zone::UTC.day_of(effective);
        let places = view.documents.places_with_settings(&record.car, on);
        let times = AsAt { effective, known };
        let made = view.places_with_settings(&record, &places, times).await;
        let made = made.expect("the register answers");
        settings_at(&places, &made, effective)
            .into_iter()
            .map(|one| {
                let value = one.told.map(|told| told.made.value.to_string());
                let value = value.unwrap_or_else(|| "not told".to_owned());
                format!("{} {} {value}", one.position, one.setting.name())
            })
            .collect()
    }
}
