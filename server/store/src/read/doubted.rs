//! What is to be judged again, since somebody judged it or took it out without knowing what was told
//! after: by the entries that raised the doubt.

use super::View;
use super::formations::CarInTrain;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::ledger::EntryRow;
use crate::row::{Both, parsed, parsed_option, row};
use domain::configuration::component::ComponentRef;
use domain::decision::judge_again::JudgeAgain;
use domain::identity::{CarNumber, DepotName, FleetName, LocationName, PositionCode, UnitNumber};
use domain::ledger::consequences::{Doubt, RaisedDoubt};
use domain::ledger::entry::Seq;
use domain::time::Instant;
use sqlx::QueryBuilder;

row!(WhereRow {
    part: String,
    serial: String,
    location: Option<String>,
    car: Option<String>,
    position: Option<String>,
    unit: Option<String>,
    fleet: Option<String>,
    depot: Option<String>,
});

/// A component that is to be judged again, and where it is.
#[derive(Debug)]
pub struct Doubted {
    /// The doubt, as it was raised.
    pub doubt: Doubt,
    /// The entry that raised it.
    pub raised_by: Seq,
    /// When that is effective.
    pub since: Instant,
    /// Where it is while neither on a car nor in an assembly.
    pub location: Option<LocationName>,
    /// The car that it is on.
    pub car: Option<CarNumber>,
    /// The position that it is at on that, by its full code.
    pub position: Option<PositionCode>,
    /// The unit of that.
    pub unit: Option<UnitNumber>,
    /// The fleet of that.
    pub fleet: Option<FleetName>,
    /// The depot of that.
    pub depot: Option<DepotName>,
}

impl Doubted {
    /// The doubt as whoever judges the component meets it.
    pub(crate) fn raised(self) -> RaisedDoubt {
        RaisedDoubt {
            doubt: self.doubt,
            by: self.raised_by,
            since: self.since,
        }
    }
}

/// Those that stand: the entry holds, nobody judged the component since, and it is not kept apart.
const STANDING: &str = "select component.part, component.serial, component.location, car.number as car, fitment.position, car.unit_number as unit, car.fleet, car.depot, ledger.seq, ledger.command, ledger.recorded_at, ledger.effective_at, ledger.actor, ledger.reason, ledger.corrects, ledger.kind, ledger.body, ledger.consequences, ledger.hash
    from doubt_raised cross join component cross join ledger
    left join fitment on fitment.component_id = component.id and fitment.until_at is null and fitment.known_until is null
    left join car on car.id = fitment.car_id
    where component.part = doubt_raised.part and component.serial = doubt_raised.serial
    and component.withdrawn_by = 0 and component.id < doubt_raised.raised_by
    and component.condition not in ('quarantined', 'beyond_salvage', 'scrapped')
    and ledger.seq = doubt_raised.raised_by
    and not exists (select 1 from ledger later where later.corrects = doubt_raised.raised_by)
    and not exists (select 1 from component_state later where later.component_id = component.id and later.recorded_by > doubt_raised.raised_by and later.condition is not null and later.whereabouts is null and later.known_until is null and later.since >= ledger.effective_at) ";

impl WhereRow {
    fn component(&self) -> Result<ComponentRef, sqlx::Error> {
        Ok(ComponentRef {
            part: parsed(&self.part)?,
            serial: parsed(&self.serial)?,
        })
    }

    fn doubted(&self, entry: &EntryRow) -> Result<Option<Doubted>, sqlx::Error> {
        let (component, entry) = (self.component()?, entry.entry()?);
        let told = entry.consequences.map(|told| told.doubts);
        let mut raised = told.into_iter().flatten().filter(Doubt::is_raised);
        let Some(doubt) = raised.find(|doubt| doubt.component == component) else {
            return Ok(None);
        };
        Ok(Some(Doubted {
            doubt: doubt.raised_by(entry.seq),
            raised_by: entry.seq,
            since: entry.effective_at,
            location: parsed_option(self.location.as_deref())?,
            car: parsed_option(self.car.as_deref())?,
            position: parsed_option(self.position.as_deref())?,
            unit: parsed_option(self.unit.as_deref())?,
            fleet: parsed_option(self.fleet.as_deref())?,
            depot: parsed_option(self.depot.as_deref())?,
        }))
    }
}

/// What is to be judged again, of some components or, of none, all of it: what is shown, and what whoever
/// judges one of them meets. In the order in which it was told. One statement, linear in the doubts that
/// were ever raised, which are few.
pub(crate) async fn doubted(tx: &mut Tx, of: &[&ComponentRef]) -> Result<Vec<Doubted>, StoreError> {
    let rows: Vec<Both<WhereRow, EntryRow>> = on!(tx, conn => {
        let mut query = QueryBuilder::new(STANDING);
        if !of.is_empty() {
            query.push(" and (doubt_raised.part, doubt_raised.serial) in (");
            query.push_values(of, |mut row, component| {
                row.push_bind(component.part.as_str()).push_bind(component.serial.as_str());
            });
            query.push(")");
        }
        query.push(" order by doubt_raised.raised_by, component.id");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut all = Vec::with_capacity(rows.len());
    for Both(place, entry) in &rows {
        all.extend(place.doubted(entry)?);
    }
    Ok(all)
}

/// Tells with cars what on them is to be judged again, by its position. One statement, none without a car;
/// whoever asks knows that anything ever was.
pub(crate) async fn tell_doubts(tx: &mut Tx, cars: Vec<&mut CarInTrain>) -> Result<(), StoreError> {
    if cars.is_empty() {
        return Ok(());
    }
    let all = doubted(tx, &[]).await?;
    for car in cars {
        let number = &car.record.car.number;
        let here = all.iter().filter(|one| one.car.as_ref() == Some(number));
        let again = here.filter_map(|one| {
            Some(JudgeAgain {
                position: one.position.clone()?,
                component: one.doubt.component.clone(),
                raised_by: one.raised_by,
            })
        });
        let mut again: Vec<JudgeAgain> = again.collect();
        again.sort();
        car.judge_again = again;
    }
    Ok(())
}

impl View {
    /// What is to be judged again now. One statement where anything ever was.
    pub async fn doubted(&mut self) -> Result<Vec<Doubted>, StoreError> {
        if !self.ever_doubted {
            return Ok(Vec::new());
        }
        doubted(&mut self.tx, &[]).await
    }

    /// Why a component is to be judged again, if it is. One statement where anything ever was.
    pub async fn doubts_of(
        &mut self,
        component: &ComponentRef,
    ) -> Result<Vec<Doubted>, StoreError> {
        if !self.ever_doubted {
            return Ok(Vec::new());
        }
        doubted(&mut self.tx, &[component]).await
    }
}
