//! What is on the cars of a formation now, as a decision needs it.

use crate::column::On;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{parsed, parsed_option, row};
use domain::configuration::filled::FilledPositions;
use domain::decision::conceded::DepartsThere;
use domain::decision::failed_test::FailedTest;
use domain::decision::shortcoming::FittedTold;
use domain::identity::{CarNumber, PositionCode};
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

row!(OnCarRow {
    car: String,
    positions: String,
    part: Option<String>,
    condition: Option<String>,
    departs: Option<String>,
    setting: Option<String>,
    concession: Option<String>,
    from_on: Option<On>,
    until_on: Option<On>,
    failed: Option<String>,
});

/// What is on a car: the positions that hold a component, what is told of some of them, and the
/// places that depart from the baseline, in their order; and its tests that were failed and not
/// passed since.
#[derive(Default)]
pub(super) struct OnCar {
    pub(super) filled: FilledPositions,
    pub(super) told: Vec<FittedTold>,
    pub(super) departs: Vec<DepartsThere>,
    pub(super) failed_tests: Vec<FailedTest>,
}

impl OnCar {
    fn add(&mut self, row: OnCarRow) -> Result<(), sqlx::Error> {
        if let Some(failed) = &row.failed {
            // What stands in the place of positions is the procedure.
            self.failed_tests.push(FailedTest {
                procedure: parsed(&row.positions)?,
                record: parsed(failed)?,
            });
        } else if let (Some(part), Some(condition)) = (&row.part, &row.condition) {
            self.told.push(FittedTold {
                position: parsed(&row.positions)?,
                part: parsed(part)?,
                condition: parsed(condition)?,
            });
        } else if let (Some(kind), Some(from)) = (&row.departs, row.from_on) {
            let setting = row.setting.as_deref().filter(|name| !name.is_empty());
            for position in row.positions.split(' ') {
                self.departs.push(DepartsThere {
                    position: parsed(position)?,
                    setting: parsed_option(setting)?,
                    kind: parsed(kind)?,
                    concession: parsed_option(row.concession.as_deref())?,
                    from: from.0,
                    until: row.until_on.map(|until| until.0),
                });
            }
        } else {
            self.filled = FilledPositions::of(row.positions);
        }
        Ok(())
    }
}

/// What is on cars. The codes of filled positions come with a space between: one row a car is read
/// in a third of the time of one a position; so do those of places that depart in one way, which are
/// many where nobody recorded how anything is set. What is told is of components at the places given,
/// and of all that are not serviceable, of which a register has few. Of tests the last by each
/// procedure that counts is told, where it was failed. One statement.
pub(super) async fn on_cars(
    tx: &mut Tx,
    numbers: &[CarNumber],
    places: &BTreeSet<PositionCode>,
) -> Result<HashMap<CarNumber, OnCar>, StoreError> {
    let rows: Vec<OnCarRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select car.number as car, string_agg(fitment.position, ' ') as positions, cast(null as TEXT) as part, cast(null as TEXT) as condition, cast(null as TEXT) as departs, cast(null as TEXT) as setting, cast(null as TEXT) as concession, cast(null as DATE) as from_on, cast(null as DATE) as until_on, cast(null as TEXT) as failed from car join fitment on fitment.car_id = car.id where fitment.until_at is null and fitment.known_until is null and car.number in (");
        let mut list = query.separated(", ");
        for number in numbers {
            list.push_bind(number.as_str());
        }
        query.push(") group by car.number union all select car.number, fitment.position, component.part, component.condition, null, null, null, null, null, null from car cross join fitment cross join component where car.number in (");
        let mut list = query.separated(", ");
        for number in numbers {
            list.push_bind(number.as_str());
        }
        query.push(") and fitment.car_id = car.id and fitment.position in (");
        let mut list = query.separated(", ");
        list.push_bind("");
        for place in places {
            list.push_bind(place.as_str());
        }
        query.push(") and fitment.until_at is null and fitment.known_until is null and component.id = fitment.component_id union all select car.number, fitment.position, component.part, component.condition, null, null, null, null, null, null from component cross join fitment cross join car where component.condition <> 'serviceable' and component.location is null and fitment.component_id = component.id and fitment.until_at is null and fitment.known_until is null and car.id = fitment.car_id and car.number in (");
        let mut list = query.separated(", ");
        for number in numbers {
            list.push_bind(number.as_str());
        }
        query.push(") union all select car.number, test_record.procedure_code, null, null, null, null, null, null, null, test_record.name from car cross join test_record where test_record.car_id = car.id and test_record.outcome = 'failed' and not exists (select 1 from test_record later where later.car_id = test_record.car_id and later.procedure_code = test_record.procedure_code and later.outcome in ('passed', 'failed') and (later.tested_at > test_record.tested_at or (later.tested_at = test_record.tested_at and later.id > test_record.id))) and car.number in (");
        let mut list = query.separated(", ");
        for number in numbers {
            list.push_bind(number.as_str());
        }
        query.push(") union all select car.number, string_agg(departure.position, ' '), null, null, departure.kind, departure.setting, departure.concession, departure.from_on, departure.until_on, null from car cross join departure where departure.car_id = car.id and car.number in (");
        let mut list = query.separated(", ");
        for number in numbers {
            list.push_bind(number.as_str());
        }
        query.push(") group by car.number, departure.kind, departure.setting, departure.concession, departure.from_on, departure.until_on order by 1, 2");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut on_cars: HashMap<CarNumber, OnCar> = HashMap::new();
    for row in rows {
        on_cars.entry(parsed(&row.car)?).or_default().add(row)?;
    }
    for on_car in on_cars.values_mut() {
        on_car.departs.sort();
        on_car.failed_tests.sort();
    }
    Ok(on_cars)
}
