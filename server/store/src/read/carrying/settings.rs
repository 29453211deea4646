//! Cars that are set in a way, at the places where the baseline in force on the day asks for the
//! setting, by the design data as it is known now.

use super::{Carried, Carrying, CarryingCount, CarryingFilter, CarryingFound};
use crate::column::At;
use crate::connect::on;
use crate::dossier::cars::{CAR_COLUMNS, CarRow};
use crate::error::StoreError;
use crate::read::as_known::{cars_known, known_at};
use crate::read::settings::{MADE, PERIODS, PlaceRow, Places, put_in_place, settings_at};
use crate::read::{AsAt, View};
use domain::configuration::car_type::Position;
use domain::configuration::component::PositionRef;
use domain::configuration::looked_for::SettingSought;
use domain::configuration::setting::SettingAt;
use domain::identity::{CarTypeName, PositionCode, Revision, SettingName};
use domain::ledger::dossier::{CarRecord, Documents};
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// The places of one car that are asked for the setting, with what was told of it.
pub(super) type SetOnCar = (CarRecord, Vec<SettingAt>);

/// Which car types ever ask for the setting, and where.
#[derive(Default)]
struct Asking<'a> {
    types: BTreeSet<&'a CarTypeName>,
    codes: BTreeSet<PositionCode>,
    places: HashMap<(&'a CarTypeName, &'a Revision), Vec<Position>>,
}

impl<'a> Asking<'a> {
    /// Linear in the positions of all revisions.
    fn of(documents: &'a Documents, (name, place): (&SettingName, &str)) -> Self {
        let mut asking = Self::default();
        for ((car_type, revision), design) in &documents.car_types {
            let asked = documents.places_set_by(&design.document, name);
            let asked = asked.filter(|one| place.is_empty() || one.is_called(place));
            let asked: Vec<Position> = asked.collect();
            if !asked.is_empty() {
                asking.types.insert(car_type);
                asking
                    .codes
                    .extend(asked.iter().map(|one| one.code.clone()));
                asking.places.insert((car_type, revision), asked);
            }
        }
        asking
    }
}

impl View {
    /// The places that are asked for a setting as at a time, by car and position, with what was
    /// told of it as known at another. Three statements.
    pub(super) async fn places_set(
        &mut self,
        (name, place): (&SettingName, &str),
        as_at: AsAt,
    ) -> Result<Vec<SetOnCar>, StoreError> {
        let documents = std::sync::Arc::clone(&self.documents);
        let asking = Asking::of(&documents, (name, place));
        if asking.types.is_empty() {
            return Ok(Vec::new());
        }
        let last = self.last_recorded(as_at.known).await?;
        let cars: Vec<CarRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(CAR_COLUMNS);
            cars_known!(query, Some(last));
            query.push(" and car.car_type in (");
            let mut types = query.separated(", ");
            for car_type in &asking.types {
                types.push_bind(car_type.as_str());
            }
            query.push(") order by car.number");
            query.build_query_as().fetch_all(conn).await
        })?;
        let told = self.told_of(&asking, name, as_at).await?;
        let mut set = Vec::with_capacity(cars.len());
        for row in &cars {
            let mut record = row.record()?;
            documents.as_on(&mut record.car, self.zone.day_of(as_at.effective));
            let revision = (&record.car.car_type, &record.car.revision);
            let Some(asked) = asking.places.get(&revision) else {
                continue;
            };
            let mut places = Places::new();
            for row in told.get(&row.id).into_iter().flatten() {
                put_in_place(&mut places, row, &record.car.number)?;
            }
            let mut on_car = settings_at(asked, &places, as_at.effective);
            on_car.retain(|one| one.setting.name() == name);
            on_car.sort_by(|a, b| a.position.cmp(&b.position));
            set.push((record, on_car));
        }
        Ok(set)
    }

    /// What was at the places of all cars of the types, and what was set there by that name.
    async fn told_of(
        &mut self,
        asking: &Asking<'_>,
        name: &SettingName,
        as_at: AsAt,
    ) -> Result<BTreeMap<i64, Vec<PlaceRow>>, StoreError> {
        let (effective, known) = (At(as_at.effective), At(as_at.known));
        let rows: Vec<PlaceRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new(PERIODS);
            query.push(" from car_ever car cross join fitment where car.car_type in (");
            let mut types = query.separated(", ");
            for car_type in &asking.types {
                types.push_bind(car_type.as_str());
            }
            query.push(") and fitment.car_id = car.id and fitment.position in (");
            let mut list = query.separated(", ");
            for code in &asking.codes {
                list.push_bind(code.as_str());
            }
            query.push(") and fitment.from_at <= ").push_bind(effective);
            known_at!(query, "fitment", known);
            query.push(" union all ").push(MADE).push(" from setting where setting.name = ");
            query.push_bind(name.as_str());
            query.push(" and setting.since <= ").push_bind(effective);
            known_at!(query, "setting", known);
            query.push(" order by since, id");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut of_cars: BTreeMap<i64, Vec<PlaceRow>> = BTreeMap::new();
        for row in rows {
            of_cars.entry(row.car_id).or_default().push(row);
        }
        Ok(of_cars)
    }
}

/// What is looked for among the places, and what is not told.
pub(super) fn found(
    cars: Vec<SetOnCar>,
    sought: &SettingSought,
    filter: &CarryingFilter,
) -> CarryingFound {
    let (mut count, mut untold) = (CarryingCount::default(), CarryingCount::default());
    let mut rows = Vec::new();
    for (record, on_car) in cars {
        let met = |sought: &SettingSought, count: &mut CarryingCount| {
            let places = on_car.iter().filter(|one| sought.is_met_by(one)).count();
            count.places += i64::try_from(places).unwrap_or(i64::MAX);
            count.cars += i64::from(0 < places);
        };
        met(sought, &mut count);
        if *sought != SettingSought::NotTold {
            met(&SettingSought::NotTold, &mut untold);
        }
        for one in on_car.into_iter().filter(|one| sought.is_met_by(one)) {
            let at = PositionRef {
                car: record.car.number.clone(),
                position: one.position.clone(),
            };
            let after =
                |after: &PositionRef| (&after.car, &after.position) < (&at.car, &at.position);
            if rows.len() <= filter.rows && filter.after.as_ref().is_none_or(after) {
                rows.push(Carrying {
                    unit: record.unit.as_ref().map(|place| place.unit.clone()),
                    fleet: record.car.fleet.clone(),
                    depot: record.car.depot.clone(),
                    carried: Carried::Setting(Box::new(one)),
                    at,
                });
            }
        }
    }
    CarryingFound {
        count,
        untold,
        rows,
    }
}
