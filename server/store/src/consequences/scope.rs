//! What an entry can change, and how that is at a moment.

use crate::column::On;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{parsed, parsed_option, row};
use domain::configuration::component::{ComponentRef, PositionRef, Subject};
use domain::due::task::AppliesTo;
use domain::identity::{CarNumber, CarTypeName};
use domain::ledger::consequences::{DepartureTold, Picture, reaches_back};
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Entry;
use domain::ledger::fact::Fact;
use domain::time::{Day, Instant};
use domain::units::{Amount, Meter};
use domain::usage::carried::{FittedUse, counted};
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet};

row!(DateRow {
    task: String,
    due_on: Option<On>,
    part: Option<String>,
    serial: Option<String>,
    number: Option<String>,
});

row!(RunRow {
    part: String,
    serial: String,
    from_odometer: Option<i64>,
    from_running_hours: Option<i64>,
    from_compressor_hours: Option<i64>,
    until_odometer: Option<i64>,
    until_running_hours: Option<i64>,
    until_compressor_hours: Option<i64>,
});

row!(DepartureRow {
    number: String,
    position: String,
    setting: String,
    kind: String,
    from_on: On,
    until_on: Option<On>,
    concession: Option<String>,
});

const DATES: &str = "select due.task, due.due_on, component.part, component.serial, car.number from due left join component on component.id = due.subject_id left join car on car.id = due.subject_id where ";

/// What an entry can change.
pub(super) struct Scope {
    /// Cars whose meters or own work it can move.
    cars: Vec<i64>,
    /// Components whose work or use it can move.
    components: Vec<i64>,
    /// Cars whose departures it can move.
    departing: Vec<i64>,
    /// The car type of which it puts a revision in force: it can move those of all its cars.
    revised: Option<CarTypeName>,
    /// Things of which a task is new or revised: it can move all their due dates.
    subjects: Vec<AppliesTo>,
    /// From when it changes what held.
    pub(super) since: Instant,
}

impl Scope {
    pub(super) fn of(dossier: &Dossier, entry: &Entry) -> Self {
        let changes = &dossier.changes;
        let ids = |numbers: &BTreeSet<&CarNumber>| {
            let known = numbers.iter().filter_map(|car| dossier.cars.get(*car));
            known.map(|car| car.id.0).collect()
        };
        let cars = changes.stale_cars.iter().chain(&changes.stale_meters);
        let cars = cars.chain(changes.stale_marks.keys()).collect();
        let components = changes.stale_components.iter();
        let components = components.filter_map(|one| Some(dossier.components.get(one)?.id.0));
        let components: BTreeSet<i64> = components.collect();
        let corrected = entry.corrects.and_then(|seq| dossier.corrected.get(&seq));
        let corrected = corrected
            .map(|(wrong, _)| reaches_back(&wrong.fact, wrong.effective_at, &dossier.zone));
        let made_true = dossier.made_true(&entry.fact);
        let since = reaches_back(&made_true, entry.effective_at, &dossier.zone);
        let revised = match &*made_true {
            Fact::RevisionEffective(it) => Some(it.car_type.clone()),
            _ => None,
        };
        Self {
            cars: ids(&cars),
            components: components.into_iter().collect(),
            departing: ids(&changes.stale_departures.keys().collect()),
            revised,
            subjects: once_each(&changes.stale_subjects),
            since: corrected.map_or(since, |at| at.min(since)),
        }
    }

    /// What it can change but for verdicts, as that is now.
    pub(super) async fn picture(&self, tx: &mut Tx) -> Result<Picture, StoreError> {
        let mut picture = Picture::default();
        self.dates(tx, &mut picture).await?;
        self.usage(tx, &mut picture).await?;
        self.departures(tx, &mut picture).await?;
        Ok(picture)
    }

    async fn dates(&self, tx: &mut Tx, picture: &mut Picture) -> Result<(), StoreError> {
        for (column, ids) in [("car_id", &self.cars), ("subject_id", &self.components)] {
            if ids.is_empty() {
                continue;
            }
            let rows: Vec<DateRow> = on!(&mut *tx, conn => {
                let mut query = QueryBuilder::new(DATES);
                query.push("due.").push(column).push(" in (");
                let mut list = query.separated(", ");
                for id in ids {
                    list.push_bind(*id);
                }
                query.push(")");
                query.build_query_as().fetch_all(conn).await
            })?;
            picture_dates(picture, &rows)?;
        }
        for subject in &self.subjects {
            let (which, name) = match subject {
                AppliesTo::Part(part) => ("due.part = ", part.as_str()),
                AppliesTo::CarType(name) => ("due.part is null and car.car_type = ", name.as_str()),
            };
            let rows: Vec<DateRow> = on!(&mut *tx, conn => {
                let mut query = QueryBuilder::new(DATES);
                query.push(which).push_bind(name);
                query.build_query_as().fetch_all(conn).await
            })?;
            picture_dates(picture, &rows)?;
        }
        Ok(())
    }

    /// What the components have run that were ever on the cars, and the others, up to the last
    /// readings.
    async fn usage(&self, tx: &mut Tx, picture: &mut Picture) -> Result<(), StoreError> {
        if self.cars.is_empty() && self.components.is_empty() {
            return Ok(());
        }
        let rows: Vec<RunRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("select component.part, component.serial, fitment.from_odometer, fitment.from_running_hours, fitment.from_compressor_hours ");
            for (meter, name) in ["odometer", "running_hours", "compressor_hours"].into_iter().enumerate() {
                // What came on after the last reading has run nothing by it.
                query.push(format!(", case when fitment.until_at is not null then fitment.until_{name} when meter_{meter}.last_usage < fitment.from_{name} then fitment.from_{name} else meter_{meter}.last_usage end as until_{name}"));
            }
            query.push(" from fitment join component on component.id = fitment.component_id");
            for meter in 0..Meter::ALL.len() {
                query.push(format!(" left join meter meter_{meter} on meter_{meter}.car_id = fitment.car_id and meter_{meter}.meter = {meter}"));
            }
            query.push(" where fitment.known_until is null and fitment.component_id in (select other.component_id from fitment other where other.known_until is null and other.car_id in (null");
            for car in &self.cars {
                query.push(", ").push_bind(*car);
            }
            query.push(") union select component.id from component where component.id in (null");
            for component in &self.components {
                query.push(", ").push_bind(*component);
            }
            query.push("))");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut runs: BTreeMap<(ComponentRef, Meter), Vec<FittedUse>> = BTreeMap::new();
        for row in &rows {
            for (meter, run) in row.runs() {
                runs.entry((row.component()?, meter)).or_default().push(run);
            }
        }
        let usage = runs.into_iter().map(|(key, runs)| (key, counted(runs)));
        picture.usage.extend(usage);
        Ok(())
    }

    async fn departures(&self, tx: &mut Tx, picture: &mut Picture) -> Result<(), StoreError> {
        if self.departing.is_empty() && self.revised.is_none() {
            return Ok(());
        }
        let rows: Vec<DepartureRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("select car.number, departure.position, departure.setting, departure.kind, departure.from_on, departure.until_on, departure.concession from departure join car on car.id = departure.car_id where ");
            query.push("departure.car_id in (null");
            for car in &self.departing {
                query.push(", ").push_bind(*car);
            }
            query.push(")");
            if let Some(car_type) = &self.revised {
                query.push(" or car.car_type = ").push_bind(car_type.as_str());
            }
            query.build_query_as().fetch_all(conn).await
        })?;
        for row in rows {
            let concession = parsed_option(row.concession.as_deref())?;
            picture.departures.insert(row.told()?, concession);
        }
        Ok(())
    }
}

fn once_each(subjects: &[AppliesTo]) -> Vec<AppliesTo> {
    let mut once: Vec<AppliesTo> = Vec::new();
    for subject in subjects {
        if !once.contains(subject) {
            once.push(subject.clone());
        }
    }
    once
}

fn picture_dates(picture: &mut Picture, rows: &[DateRow]) -> Result<(), StoreError> {
    for row in rows {
        if let Some(subject) = row.subject()? {
            let date = row.due_on.map(|on| on.0);
            picture.due.insert((subject, parsed(&row.task)?), date);
        }
    }
    Ok(())
}

impl DateRow {
    fn subject(&self) -> Result<Option<Subject>, sqlx::Error> {
        Ok(match (&self.part, &self.serial, &self.number) {
            (Some(part), Some(serial), _) => Some(Subject::Component(ComponentRef {
                part: parsed(part)?,
                serial: parsed(serial)?,
            })),
            (_, _, Some(number)) => Some(Subject::Car(parsed(number)?)),
            _ => None,
        })
    }
}

impl RunRow {
    fn component(&self) -> Result<ComponentRef, sqlx::Error> {
        Ok(ComponentRef {
            part: parsed(&self.part)?,
            serial: parsed(&self.serial)?,
        })
    }

    fn runs(&self) -> [(Meter, FittedUse); 3] {
        let run = |from: Option<i64>, until: Option<i64>| FittedUse {
            from: from.map(Amount),
            until: until.map(Amount),
        };
        [
            (
                Meter::Odometer,
                run(self.from_odometer, self.until_odometer),
            ),
            (
                Meter::RunningHours,
                run(self.from_running_hours, self.until_running_hours),
            ),
            (
                Meter::CompressorHours,
                run(self.from_compressor_hours, self.until_compressor_hours),
            ),
        ]
    }
}

impl DepartureRow {
    fn told(&self) -> Result<DepartureTold, sqlx::Error> {
        let setting = Some(self.setting.as_str()).filter(|name| !name.is_empty());
        Ok(DepartureTold {
            at: PositionRef {
                car: parsed(&self.number)?,
                position: parsed(&self.position)?,
            },
            setting: parsed_option(setting)?,
            kind: parsed(&self.kind)?,
            from: Some(self.from_on.0).filter(|day| *day != Day::EARLIEST),
            until: self.until_on.map(|on| on.0),
        })
    }
}
