//! What was set on the components of a car when they were fitted.

use super::car::OnCar;
use super::fitment::Fitted;
use super::troubles::SET_OTHERWISE;
use super::{Generator, Result};
use crate::columns::SETTINGS;
use domain::configuration::setting::{Setting, SettingValue};

impl Generator<'_> {
    /// Writes the settings of what is fitted: as wanted, but for the first number on a car that
    /// the trouble strikes, which is at the lower end of what is allowed.
    pub(super) fn write_settings(&mut self, on_car: &OnCar<'_>, all: &[Fitted<'_>]) -> Result<()> {
        let mut otherwise = SET_OTHERWISE.strikes(on_car.car.place);
        for fitted in all {
            let Some(stay) = fitted.current() else {
                continue;
            };
            for setting in &fitted.position.settings {
                let low = lowest(setting).filter(|_| otherwise);
                otherwise &= low.is_none();
                let reason = if low.is_some() {
                    "set by a gauge whose calibration had lapsed; to be set anew at the next visit"
                } else {
                    ""
                };
                self.write(
                    &SETTINGS,
                    &[
                        ("car", &on_car.car.number),
                        ("position", &fitted.position.code),
                        ("setting", setting.name()),
                        ("value", &low.unwrap_or_else(|| setting.wanted())),
                        ("at", &stay.from),
                        ("reason", &reason),
                    ],
                )?;
            }
        }
        Ok(())
    }
}

/// The lowest number that a setting allows, if it is a number and wants a higher one.
fn lowest(setting: &Setting) -> Option<SettingValue> {
    let (lower, _) = setting.range()?;
    match setting.wanted() {
        SettingValue::Number(wanted, unit) if lower < wanted => {
            Some(SettingValue::Number(lower, unit))
        }
        _ => None,
    }
}
