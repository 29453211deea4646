//! What was set on the components of a car when they were fitted.

use super::car::OnCar;
use super::fitment::Fitted;
use super::span::Moment;
use super::troubles::{FOUND_OUTSIDE, SET_OTHERWISE};
use super::{Generator, Result};
use crate::columns::SETTINGS;
use domain::configuration::setting::{Setting, SettingHow, SettingValue};
use domain::identity::PositionCode;

/// How many days ago a setting was found outside its range.
const FOUND_AGO: i64 = 12;
/// How far below what is allowed it was found, in millionths.
const FOUND_BELOW: i64 = 150_000;

impl Generator<'_> {
    /// Writes the settings of what is fitted: as wanted, but for the first number on a car that
    /// the trouble strikes, which is at the lower end of what is allowed, or was found below it.
    pub(super) fn write_settings(&mut self, on_car: &OnCar<'_>, all: &[Fitted<'_>]) -> Result<()> {
        let place = on_car.car.place;
        let mut otherwise = SET_OTHERWISE.strikes(place);
        let mut outside = FOUND_OUTSIDE.strikes(place);
        let found_on = self.span.ago(FOUND_AGO);
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
                let made = Said {
                    at: (&on_car.car.number, &fitted.position.code, setting),
                    value: low.unwrap_or_else(|| setting.wanted()),
                    how: SettingHow::Made,
                    since: stay.from,
                };
                self.write_setting(&made, reason)?;
                let below = below(setting).filter(|_| outside && stay.from.day < found_on);
                if let Some(value) = below {
                    outside = false;
                    let found = Said {
                        value,
                        how: SettingHow::Found,
                        since: Moment::removal_on(found_on),
                        ..made
                    };
                    self.write_setting(&found, "found at a check of the workshop's gauges")?;
                }
            }
        }
        Ok(())
    }

    fn write_setting(&mut self, said: &Said<'_>, reason: &str) -> Result<()> {
        let (car, position, setting) = said.at;
        self.write(
            &SETTINGS,
            &[
                ("car", &car),
                ("position", position),
                ("setting", setting.name()),
                ("value", &said.value),
                ("how", &said.how.name()),
                ("at", &said.since),
                ("reason", &reason),
            ],
        )
    }
}

/// What is said of a setting.
struct Said<'a> {
    at: (&'a str, &'a PositionCode, &'a Setting),
    value: SettingValue,
    how: SettingHow,
    since: Moment,
}

/// A number below what a setting allows, if it is a number.
fn below(setting: &Setting) -> Option<SettingValue> {
    let (lower, _) = setting.range()?;
    let SettingValue::Number(_, unit) = setting.wanted() else {
        return None;
    };
    let below = u64::try_from(lower.millionths() - FOUND_BELOW).ok()?;
    let text = format!("{}.{:06}", below / 1_000_000, below % 1_000_000);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    Some(SettingValue::Number(text.parse().ok()?, unit))
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
