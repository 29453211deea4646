//! Whether the tables say what the model says.

use super::inside::{self, OnCar};
use super::model::{Hour, Interval, Model, Place, Said};
use super::world::{DEPOTS, Of, components, hour, of, positions};
use std::collections::{BTreeMap, HashMap};
use tests::fleet::CARS;
use tests::tables::{Row, Tables};

/// Which component, and which car, each id is.
#[derive(Debug)]
pub(super) struct Ids {
    components: HashMap<String, Place>,
    cars: HashMap<String, Place>,
}

fn text<'r>(row: &'r Row, column: &str) -> &'r str {
    row[column].as_deref().unwrap_or_default()
}

fn number(row: &Row, column: &str) -> Option<i64> {
    row[column].as_deref().map(|number| number.parse().unwrap())
}

impl Ids {
    pub(super) async fn read(tables: &mut Tables) -> Self {
        let names = components();
        let component = |row: &Row| {
            let (part, serial) = (text(row, "part"), text(row, "serial"));
            names
                .iter()
                .position(|name| name.part.as_str() == part && name.serial.as_str() == serial)
        };
        let car = |row: &Row| CARS.iter().position(|car| *car == text(row, "number"));
        let id = |row: &Row| text(row, "id").to_owned();
        let component_rows = tables.rows("component").await;
        let car_rows = tables.rows("car_ever").await;
        Self {
            components: component_rows
                .iter()
                .map(|row| (id(row), component(row).unwrap()))
                .collect(),
            cars: car_rows
                .iter()
                .map(|row| (id(row), car(row).unwrap()))
                .collect(),
        }
    }
}

/// Two current rows that share a component or a position, and a moment.
const OVERLAPS: &str = "select count(*) from fitment a join fitment b on a.id < b.id
    and (a.component_id = b.component_id or (a.car_id = b.car_id and a.position = b.position))
    and (b.until_at is null or a.from_at < b.until_at)
    and (a.until_at is null or b.from_at < a.until_at)
    where a.known_until is null and b.known_until is null";

/// Fitments in which use runs backwards: to their end, or to the last reading of the car.
const BACKWARDS: &str = "select count(*) from fitment
    left join meter on meter.car_id = fitment.car_id and meter.meter = 0 and from_at <= last_at
    where known_until is null and coalesce(until_odometer, last_usage) < from_odometer
    and (until_at is null or until_odometer is not null)";

/// Asserts that tables and model agree, and that both are possible.
pub(super) async fn assert_agreement(tables: &mut Tables, ids: &Ids, model: &Model) {
    assert_eq!(
        tables.number(OVERLAPS).await,
        0,
        "two at one place, or one at two"
    );
    assert_eq!(tables.number(BACKWARDS).await, 0, "use runs backwards");
    let rows = known_now(tables, "fitment").await;
    assert_on_cars(&rows, ids, model);
    assert_marks(&rows, ids, model);
    assert_inside(&known_now(tables, "inner_fitment").await, ids, model);
    assert_components(&tables.rows("component").await, ids, model);
    assert_meters(&tables.rows("meter").await, ids, model);
    assert_done(&tables.rows("work_done").await, ids, model);
    assert_depots(&tables.rows("car_ever").await, ids, model);
}

/// A car is at the depot that was told for the latest time, whichever was recorded last.
fn assert_depots(rows: &[Row], ids: &Ids, model: &Model) {
    for row in rows {
        let car = ids.cars[text(row, "id")];
        let told = model.stands.iter().filter_map(|stands| match stands.said {
            Said::MovedToDepot { car: of, depot } if of == car => Some((stands.at, depot)),
            _ => None,
        });
        // It was founded at the first.
        let last = std::iter::once((0, 0))
            .chain(told)
            .max_by_key(|(at, _)| *at);
        assert_eq!(text(row, "depot"), DEPOTS[last.unwrap().1]);
    }
}

async fn known_now(tables: &mut Tables, table: &str) -> Vec<Row> {
    let mut rows = tables.rows(table).await;
    rows.retain(|row| row["known_until"].is_none());
    rows
}

fn assert_on_cars(rows: &[Row], ids: &Ids, model: &Model) {
    let stay = |row: &Row| OnCar {
        component: ids.components[text(row, "component_id")],
        car: ids.cars[text(row, "car_id")],
        code: text(row, "position").to_owned(),
        from: hour(text(row, "from_at")),
        until: row["until_at"].as_deref().map(hour),
    };
    let mut kept: Vec<OnCar> = rows.iter().map(stay).collect();
    let mut expected = inside::on_cars(&model.intervals());
    kept.sort();
    expected.sort();
    assert_eq!(kept, expected);
}

fn assert_inside(rows: &[Row], ids: &Ids, model: &Model) {
    let position = |row: &Row| {
        let host = Of::Component(ids.components[text(row, "host_id")]);
        let is = |place: &Place| of(*place) == (host, text(row, "position"));
        (0..positions().len()).find(is).unwrap()
    };
    let interval = |row: &Row| Interval {
        component: ids.components[text(row, "component_id")],
        position: position(row),
        from: hour(text(row, "from_at")),
        until: row["until_at"].as_deref().map(hour),
    };
    let mut kept: Vec<Interval> = rows.iter().map(interval).collect();
    let mut expected = model.intervals();
    expected.retain(|interval| matches!(of(interval.position).0, Of::Component(_)));
    kept.sort();
    expected.sort();
    assert_eq!(kept, expected);
}

/// What a car had run at an hour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Run {
    /// Before its first reading, or on no car.
    Unknown,
    /// Between two readings, in thousandths of a kilometre.
    Read(i64),
    /// After its last reading.
    Forecast,
}

impl Run {
    fn at(points: &BTreeMap<Hour, i64>, at: Hour) -> Self {
        let before = points.range(..=at).next_back();
        match (before, points.range(at..).next()) {
            (None, _) => Self::Unknown,
            (Some(_), None) => Self::Forecast,
            (Some((from, run)), Some((until, later))) => {
                let (gained, hours) = ((later - run) * 1_000, until - from);
                let part = if hours == 0 {
                    0
                } else {
                    gained * (at - from) / hours
                };
                Self::Read(run * 1_000 + part)
            }
        }
    }

    fn assert_is(self, mark: Option<i64>, row: &Row) {
        match self {
            Self::Unknown => assert_eq!(mark, None, "{row:?}"),
            Self::Read(run) => assert_eq!(mark, Some(run), "{row:?}"),
            Self::Forecast => {}
        }
    }
}

fn assert_marks(rows: &[Row], ids: &Ids, model: &Model) {
    for row in rows {
        let points = model.run(ids.cars[text(row, "car_id")]);
        for (when, mark) in [("from_at", "from_odometer"), ("until_at", "until_odometer")] {
            let when = row[when].as_deref().map(hour);
            let run = when.map_or(Run::Unknown, |when| Run::at(&points, when));
            run.assert_is(number(row, mark), row);
        }
    }
}

fn assert_components(rows: &[Row], ids: &Ids, model: &Model) {
    let intervals = model.intervals();
    for row in rows {
        let component = ids.components[text(row, "id")];
        assert_eq!(text(row, "condition"), model.condition(component).name());
        let mut own = intervals
            .iter()
            .filter(|interval| interval.component == component);
        let fitted = own.any(|interval| interval.until.is_none());
        assert_eq!(row["location"].is_none(), fitted, "{row:?}");
    }
    assert!(model.is_possible(), "{intervals:?}");
}

fn assert_meters(rows: &[Row], ids: &Ids, model: &Model) {
    let kept: BTreeMap<Place, (Hour, i64)> = rows
        .iter()
        .map(|row| {
            let last = (
                hour(text(row, "last_at")),
                number(row, "last_usage").unwrap(),
            );
            (ids.cars[text(row, "car_id")], last)
        })
        .collect();
    let last = |car| {
        let points = model.run(car);
        let (hour, run) = points.last_key_value()?;
        Some((car, (*hour, run * 1_000)))
    };
    let expected: BTreeMap<_, _> = (0..CARS.len()).filter_map(last).collect();
    assert_eq!(kept, expected);
}

fn assert_done(rows: &[Row], ids: &Ids, model: &Model) {
    let on_car = |row: &Row| {
        let car = row["car_id"].as_deref().map(|id| ids.cars[id]);
        (number(row, "recorded_by").unwrap(), car)
    };
    let kept: BTreeMap<i64, Option<Place>> = rows.iter().map(on_car).collect();
    let done = model.done();
    let expected = done.iter().map(|(entry, car, _)| (*entry, *car));
    assert_eq!(kept, expected.collect());
    for row in rows {
        let entry = number(row, "recorded_by");
        let (_, car, at) = done.iter().find(|(of, ..)| Some(*of) == entry).unwrap();
        let run = car.map_or(Run::Unknown, |car| Run::at(&model.run(car), *at));
        run.assert_is(number(row, "odometer"), row);
    }
}
