//! Settings as kept.

use crate::column::At;
use crate::row::{parsed, row};
use domain::configuration::component::PositionRef;
use domain::configuration::setting::{SettingMade, SettingRecord};
use domain::ledger::entry::Seq;

row!(
    /// A setting that was made.
    SettingRow {
        id: i64,
        car_id: i64,
        car: String,
        position: String,
        name: String,
        set_to: String,
        how: String,
        since: At,
        recorded_by: String,
    }
);

/// The columns of [`SettingRow`].
pub(crate) const SETTING_COLUMNS: &str = "setting.id, setting.car_id, car.number as car, setting.position, setting.name, setting.set_to, setting.how, setting.since, setting.recorded_by";
/// Where they come from.
pub(crate) const SETTINGS_FROM: &str = " from setting join car_ever car on car.id = setting.car_id";

impl SettingRow {
    /// The setting as the core has it.
    pub(crate) fn record(&self) -> Result<SettingRecord, sqlx::Error> {
        let at = PositionRef {
            car: parsed(&self.car)?,
            position: parsed(&self.position)?,
        };
        Ok(SettingRecord {
            by: Seq(self.id),
            recorded_by: parsed(&self.recorded_by)?,
            since: self.since.0,
            made: SettingMade {
                at,
                setting: parsed(&self.name)?,
                value: parsed(&self.set_to)?,
                how: parsed(&self.how)?,
            },
        })
    }
}
