//! What is told of settings, in two times.

use super::as_known::known_at;
use super::{AsAt, View};
use crate::column::At;
use crate::connect::on;
use crate::error::StoreError;
use crate::row::{parsed, row};
use domain::configuration::car_type::Position;
use domain::configuration::component::PositionRef;
use domain::configuration::setting::{PlaceThen, SettingAt, SettingMade, SettingRecord};
use domain::identity::{CarNumber, PositionCode};
use domain::ledger::dossier::{CarRecord, Period};
use domain::ledger::entry::Seq;
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::BTreeMap;

row!(
    /// A setting that was made, or a period over which something was at a place.
    PlaceRow {
        id: i64,
        car_id: i64,
        position: String,
        name: Option<String>,
        set_to: Option<String>,
        how: Option<String>,
        recorded_by: Option<String>,
        since: At,
        until_at: Option<At>,
    }
);

/// What was recorded of a place.
#[derive(Debug, Default)]
pub struct PlaceHistory {
    /// The settings made there, in the order of time, those from before what is there came there
    /// included.
    pub made: Vec<SettingRecord>,
    /// The periods over which something was there.
    pub periods: Vec<Period>,
}

impl PlaceHistory {
    /// When it last changed by a moment, and whether something stands there then.
    pub fn then(&self, at: Instant) -> PlaceThen {
        PlaceThen::of(self.periods.iter().copied(), at)
    }
}

/// What was recorded of places of a car, by their full codes.
pub type Places = BTreeMap<PositionCode, PlaceHistory>;

/// What is told of the settings that places are asked for, at a moment, in their order.
pub fn settings_at(asked: &[Position], places: &Places, at: Instant) -> Vec<SettingAt> {
    let nothing = PlaceHistory::default();
    let of_place = |position: &Position| {
        let place = places.get(&position.code).unwrap_or(&nothing);
        SettingAt::all(position, &place.made, (place.then(at), at))
    };
    asked.iter().flat_map(of_place).collect()
}

/// A period as a [`PlaceRow`]. The same words for both databases.
pub(super) const PERIODS: &str = "select fitment.id, fitment.car_id, fitment.position, null as name, null as set_to, null as how, null as recorded_by, fitment.from_at as since, fitment.until_at ";
/// A setting that was made as one.
pub(super) const MADE: &str = "select setting.id, setting.car_id, setting.position, setting.name, setting.set_to, setting.how, setting.recorded_by, setting.since, null as until_at ";

/// Narrows a statement to places.
macro_rules! at_positions {
    ($query:expr, $column:literal, $places:expr) => {
        $query.push(concat!(" and ", $column, " in ("));
        let mut list = $query.separated(", ");
        for place in $places {
            list.push_bind(place.as_str());
        }
        $query.push(")");
    };
}

impl View {
    /// What was recorded by a time, as known at another, of places of a car at which settings
    /// are asked for; without any nothing is asked. One statement; cost grows with what was ever
    /// made and fitted there.
    pub async fn places_with_settings(
        &mut self,
        car: &CarRecord,
        asked: &[Position],
        as_at: AsAt,
    ) -> Result<Places, StoreError> {
        if asked.iter().all(|place| place.settings.is_empty()) {
            return Ok(Places::new());
        }
        let codes: Vec<&PositionCode> = asked.iter().map(|place| &place.code).collect();
        let (effective, known) = (At(as_at.effective), At(as_at.known));
        let rows: Vec<PlaceRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new(PERIODS);
            query.push(" from fitment where fitment.car_id = ").push_bind(car.id.0);
            known_at!(query, "fitment", known);
            query.push(" and fitment.from_at <= ").push_bind(effective);
            at_positions!(query, "fitment.position", &codes);
            query.push(" union all ").push(MADE).push(" from setting where setting.car_id = ");
            query.push_bind(car.id.0);
            known_at!(query, "setting", known);
            query.push(" and setting.since <= ").push_bind(effective);
            at_positions!(query, "setting.position", &codes);
            query.push(" order by since, id");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut places = Places::new();
        for row in &rows {
            put_in_place(&mut places, row, &car.car.number)?;
        }
        Ok(places)
    }
}

/// Puts a row into the history of its place on a car; rows come in the order of time.
pub(super) fn put_in_place(
    places: &mut Places,
    row: &PlaceRow,
    car: &CarNumber,
) -> Result<(), sqlx::Error> {
    let place: &mut PlaceHistory = places.entry(parsed(&row.position)?).or_default();
    match row.setting(car)? {
        Some(made) => place.made.push(made),
        None => place.periods.push(Period {
            from: row.since.0,
            until: row.until_at.map(|at| at.0),
        }),
    }
    Ok(())
}

impl PlaceRow {
    /// The setting that it is, if it is one.
    fn setting(&self, car: &CarNumber) -> Result<Option<SettingRecord>, sqlx::Error> {
        let (Some(name), Some(set_to), Some(how), Some(recorded_by)) =
            (&self.name, &self.set_to, &self.how, &self.recorded_by)
        else {
            return Ok(None);
        };
        let at = PositionRef {
            car: car.clone(),
            position: parsed(&self.position)?,
        };
        Ok(Some(SettingRecord {
            by: Seq(self.id),
            recorded_by: parsed(recorded_by)?,
            since: self.since.0,
            made: SettingMade {
                at,
                setting: parsed(name)?,
                value: parsed(set_to)?,
                how: parsed(how)?,
            },
        }))
    }
}
