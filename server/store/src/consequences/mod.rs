//! What an entry told late, or a correction, changes: looked at before and after it is kept.

mod doubts;
mod proofs;
mod verdicts;

pub(crate) use doubts::raised_by;
pub(crate) use verdicts::decided_since;

use crate::column::On;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::keep::{put_doubts, put_told_late};
use crate::ledger::Head;
use crate::record::{Decided, Store};
use crate::row::{parsed, parsed_option, row};
use crate::settle;
use domain::configuration::component::{ComponentRef, PositionRef, Subject};
use domain::identity::{CarNumber, CarTypeName};
use domain::ledger::command::Command;
use domain::ledger::consequences::{
    Asks, Consequences, DepartureTold, Picture, VoidDecision, of_fitted, of_fitting, reaches_back,
};
use domain::ledger::dossier::{ComponentRecord, Dossier};
use domain::ledger::entry::Entry;
use domain::ledger::fact::Fact;
use domain::people::Authority;
use domain::time::{Day, Instant};
use domain::units::{Amount, Meter};
use domain::usage::carried::{FittedUse, counted};
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet};
use verdicts::{Side, Verdicts};

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

/// What is looked at of what an entry changes beyond what it says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Look {
    /// The work that stands on what it fits.
    Fitted,
    /// All, also what was told before and is another now.
    All,
}

impl Look {
    /// What is kept with the entry of a command.
    pub(crate) fn of(command: &Command, now: Instant) -> Self {
        if command.changes_the_past(now) {
            Self::All
        } else {
            Self::Fitted
        }
    }
}

impl Store {
    /// Keeps what an entry changes, settles what follows, and tells in the entry what is looked
    /// at. The entry is not in the ledger yet: its hash is over what it tells, too.
    pub(crate) async fn keep_told(
        &self,
        tx: &mut Tx,
        head: Head,
        (decided, look): (Decided, Look),
    ) -> Result<(Head, Entry), StoreError> {
        let Decided {
            mut dossier,
            mut entry,
            authority,
        } = decided;
        let by = (&entry, authority);
        let (head, told) = match look {
            Look::Fitted => {
                let (head, told) = self.keep_settled(tx, head, (&mut dossier, by)).await?;
                (head, Some(told).filter(|told| !told.is_nothing()))
            }
            Look::All => {
                let (head, told) = self.keep_compared(tx, head, (&mut dossier, by)).await?;
                (head, Some(told))
            }
        };
        if let Some(told) = &told {
            put_told_late(tx, entry.seq, &told.verdicts.told).await?;
            put_doubts(tx, entry.seq, &told.doubts).await?;
        }
        entry.consequences = told.map(Box::new);
        Ok((head, entry))
    }

    /// Keeps what an entry changes and settles what follows; answers with all that is another
    /// afterwards.
    async fn keep_compared(
        &self,
        tx: &mut Tx,
        head: Head,
        (dossier, (entry, authority)): (&mut Dossier, (&Entry, Authority)),
    ) -> Result<(Head, Consequences), StoreError> {
        let known = self.documents(tx, head.design_seq).await?;
        let scope = Scope::of(dossier, entry);
        let asks = Asks::of(dossier, entry);
        let verdicts = Verdicts::find(tx, asks, scope.since).await?;
        let zone = self.zone.clone();
        let mut before = scope.picture(tx).await?;
        let wrong = entry.corrects.and_then(|seq| dossier.corrected.get(&seq));
        let wrong = wrong.map(|(wrong, _)| wrong.clone());
        let side = Side::Before(wrong.as_ref());
        before.verdicts = verdicts.found(tx, (&known, &zone), side).await?;
        let kept = self.keep_settled(tx, head, (dossier, (entry, authority)));
        let (head, fitted) = kept.await?;
        let mut after = scope.picture(tx).await?;
        let now = (&*dossier.documents, &zone);
        after.verdicts = verdicts.found(tx, now, Side::After(entry)).await?;
        let looked_at = (verdicts.decisions.as_slice(), verdicts.not_looked_at);
        let mut told = Consequences::between(&before, &after, looked_at);
        told.tell_perhaps(entry);
        told.void = void(dossier);
        told.cut_outs = dossier.cut_outs_moved(entry);
        told.fitted = fitted.fitted;
        told.doubts = fitted.doubts;
        told.unproved = fitted.unproved;
        Ok((head, told))
    }

    /// Keeps what an entry changes and settles what follows; answers with the work that stands on
    /// what it fits, and where a person fits it, with what is doubtful about that; and with the ends of
    /// cut-outs that are not proved with a test that a person tells.
    async fn keep_settled(
        &self,
        tx: &mut Tx,
        head: Head,
        (dossier, (entry, authority)): (&mut Dossier, (&Entry, Authority)),
    ) -> Result<(Head, Consequences), StoreError> {
        let entries = std::slice::from_ref(entry);
        let head = self.keep_changes(tx, head, dossier, entries).await?;
        let settling = self.settling(&dossier.documents);
        let mut works = settle::settle(tx, &settling, dossier).await?;
        let fitted = dossier.fitted_by(entry);
        works.retain(|work| fitted.contains(&work.component));
        let day = dossier.zone.day_of(entry.effective_at);
        let records = fitted.iter().filter_map(|one| dossier.components.get(one));
        let records: Vec<&ComponentRecord> = records.collect();
        let mut doubts = if records.is_empty() || authority == Authority::Founder {
            Vec::new()
        } else {
            let mut known = of_fitting(dossier, entry);
            let about = doubts::about(tx, dossier, (&records, &works, day), &head);
            known.extend(about.await?);
            known
        };
        if authority == Authority::Own {
            doubts.extend(raised_by(tx, dossier, (entry, entry.seq)).await?);
        }
        let told = Consequences {
            fitted: of_fitted(works, (day, authority))?,
            doubts,
            unproved: proofs::unproved_by(tx, dossier, (entry, authority)).await?,
            ..Consequences::default()
        };
        Ok((head, told))
    }
}

fn void(dossier: &Dossier) -> Vec<VoidDecision> {
    let changed = dossier.changes.decisions.iter();
    let records = changed.filter_map(|id| dossier.decisions.get(id));
    let void = records.filter(|record| record.void.is_some());
    let void = void.map(|record| VoidDecision {
        decision: record.id,
        train: record.taken.train.clone(),
    });
    void.collect()
}

/// What an entry can change.
struct Scope {
    /// Cars whose meters or own work it can move.
    cars: Vec<i64>,
    /// Components whose work or use it can move.
    components: Vec<i64>,
    /// Cars whose departures it can move.
    departing: Vec<i64>,
    /// The car type of which it puts a revision in force: it can move those of all its cars.
    revised: Option<CarTypeName>,
    /// From when it changes what held.
    since: Instant,
}

impl Scope {
    fn of(dossier: &Dossier, entry: &Entry) -> Self {
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
            since: corrected.map_or(since, |at| at.min(since)),
        }
    }

    /// What it can change but for verdicts, as that is now.
    async fn picture(&self, tx: &mut Tx) -> Result<Picture, StoreError> {
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
                let mut query = QueryBuilder::new("select due.task, due.due_on, component.part, component.serial, car.number from due left join component on component.id = due.subject_id left join car on car.id = due.subject_id where ");
                query.push("due.").push(column).push(" in (");
                let mut list = query.separated(", ");
                for id in ids {
                    list.push_bind(*id);
                }
                query.push(")");
                query.build_query_as().fetch_all(conn).await
            })?;
            for row in rows {
                if let Some(subject) = row.subject()? {
                    let date = row.due_on.map(|on| on.0);
                    picture.due.insert((subject, parsed(&row.task)?), date);
                }
            }
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
