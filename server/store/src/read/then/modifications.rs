//! How far a modification had come, as it was told: by the design data of then, so that a view of
//! what was known then is asked.

use super::worked_out;
use crate::column::At;
use crate::connect::on;
use crate::error::StoreError;
use crate::read::as_known::{cars_known, holding_at, known_at};
use crate::read::modifications::{LEFT_PAGE, Left, UnitProgress, done_states, ranges};
use crate::read::{AsAt, View};
use crate::row::{parsed, parsed_option, row};
use domain::configuration::component::{Condition, Subject};
use domain::configuration::effectivity::CarRanges;
use domain::configuration::modification::{Modification, ModificationScope};
use domain::due::visit::VisitRecord;
use domain::identity::{CarNumber, UnitNumber};
use domain::ledger::dossier::{ComponentRecord, Dossier};
use domain::ledger::fact::Fact;
use domain::ledger::kind::FactKind;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::Arc;

/// Components whose states are loaded together.
const TOGETHER: usize = 4_000;

row!(ScopedRow {
    id: i64,
    car: Option<String>,
    position: Option<String>,
});

/// How far a modification had come.
#[derive(Debug, Clone, PartialEq)]
pub struct ModificationTold {
    /// By unit.
    pub progress: Vec<UnitProgress>,
    /// What was left; one more than a page where there is more. When work on its car was due is
    /// not told.
    pub left: Vec<Left>,
}

/// One thing in the scope of a modification, and whether that is embodied in it.
type Scoped = (Left, bool);

impl View {
    /// How far a modification had come and what was left, after a row. Eight statements, and two
    /// for every four thousand components; linear in its scope, in the units that were ever formed
    /// and in the visits that were ever planned.
    pub async fn modification_told(
        &mut self,
        modification: &Modification,
        (after, as_at): (Option<i64>, AsAt),
    ) -> Result<ModificationTold, StoreError> {
        let mut scoped = match &modification.scope {
            ModificationScope::Components { .. } => {
                self.components_scoped(modification, as_at).await?
            }
            ModificationScope::Cars { .. } => self.cars_scoped(modification, as_at).await?,
        };
        let mut units: HashMap<CarNumber, UnitNumber> = HashMap::new();
        for (number, unit) in self.units_told(as_at).await? {
            units.extend(unit.cars.into_iter().map(|of| (of.car, number.clone())));
        }
        for (one, _) in &mut scoped {
            one.unit = one.car.as_ref().and_then(|car| units.get(car)).cloned();
        }
        let progress = progress(&scoped);
        let left = scoped.into_iter().filter(|(_, done)| !done);
        let left = left.map(|(one, _)| one);
        let left = left.filter(|one| after.is_none_or(|after| after < one.cursor));
        let mut left: Vec<Left> = left.take(LEFT_PAGE + 1).collect();
        let visits = self.visits_told(as_at).await?;
        let on = self.zone.day_of(as_at.effective);
        let mut visits: Vec<&VisitRecord> = visits
            .values()
            .filter(|one| one.cancelled_by.is_none() && on <= one.visit.until)
            .filter(|one| one.visit.modifications.contains(&modification.number))
            .collect();
        visits.sort_by_key(|one| (one.visit.from, &one.visit.number));
        for one in &mut left {
            let of_unit = |visit: &&&VisitRecord| one.unit.as_ref() == Some(&visit.visit.unit);
            one.visit = visits.iter().find(of_unit).map(|one| one.visit.clone());
        }
        Ok(ModificationTold { progress, left })
    }

    async fn components_scoped(
        &mut self,
        modification: &Modification,
        as_at: AsAt,
    ) -> Result<Vec<Scoped>, StoreError> {
        let ModificationScope::Components {
            part,
            positions,
            cars,
            ..
        } = &modification.scope
        else {
            return Ok(Vec::new());
        };
        let documents = Arc::clone(&self.documents);
        let states = done_states(&documents, &modification.scope);
        let rows: Vec<ScopedRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select component.id, car.number as car, fitment.position from component left join fitment on fitment.component_id = component.id ");
            holding_at!(query, "fitment", At(as_at.effective));
            known_at!(query, "fitment", At(as_at.known));
            query.push(" left join car_ever car on car.id = fitment.car_id where component.part = ");
            query.push_bind(part.as_str());
            if !positions.is_empty() {
                query.push(" and fitment.position in (");
                let mut list = query.separated(", ");
                for position in positions {
                    list.push_bind(position.as_str());
                }
                query.push(")");
            }
            if let Some(cars) = cars {
                ranges!(query, cars);
            }
            query.push(" order by component.id");
            query.build_query_as().fetch_all(conn).await
        })?;
        let all: Vec<i64> = rows.iter().map(|row| row.id).collect();
        let records = self.components_told(&all, as_at).await?;
        let mut scoped = Vec::with_capacity(rows.len());
        for row in rows {
            let record = records.get(&row.id);
            let record = record.filter(|record| record.condition != Condition::Scrapped);
            if let Some(record) = record {
                let state = record.modification.as_ref();
                let done = state.is_some_and(|state| states.contains(&state.as_str()));
                scoped.push((row.component(record)?, done));
            }
        }
        Ok(scoped)
    }

    /// Components as they were told, by their numbers; those of which nothing was known are not
    /// among them.
    pub(in crate::read) async fn components_told(
        &mut self,
        ids: &[i64],
        as_at: AsAt,
    ) -> Result<BTreeMap<i64, ComponentRecord>, StoreError> {
        let mut told = BTreeMap::new();
        for chunk in ids.chunks(TOGETHER) {
            let mut dossier = Dossier::new(Arc::clone(&self.documents), self.zone.clone());
            self.states_then(&mut dossier, chunk, as_at).await?;
            let then = worked_out(dossier, &[])?;
            told.extend(then.components().map(|one| (one.id.0, one.clone())));
        }
        Ok(told)
    }

    async fn cars_scoped(
        &mut self,
        modification: &Modification,
        as_at: AsAt,
    ) -> Result<Vec<Scoped>, StoreError> {
        let ModificationScope::Cars { car_type, cars } = &modification.scope else {
            return Ok(Vec::new());
        };
        let last = self.last_recorded(as_at.known).await?;
        let rows: Vec<ScopedRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select car.id, car.number as car, null as position ");
            cars_known!(query, Some(last));
            query.push(" and car.car_type = ").push_bind(car_type.as_str());
            query.push(" and car.id <= ").push_bind(last.0);
            ranges!(query, cars);
            query.push(" order by car.id");
            query.build_query_as().fetch_all(conn).await
        })?;
        let entries = self.entries_then(&[FactKind::Embodied], as_at).await?;
        let embodied = entries.iter().filter_map(|entry| match &entry.fact {
            Fact::Embodied {
                modification: number,
                subject: Subject::Car(car),
                ..
            } if *number == modification.number => Some(car),
            _ => None,
        });
        let embodied: HashSet<&CarNumber> = embodied.collect();
        let mut scoped = Vec::with_capacity(rows.len());
        for row in &rows {
            if let Some(car) = parsed_option::<CarNumber>(row.car.as_deref())? {
                let done = embodied.contains(&car);
                let subject = Subject::Car(car);
                scoped.push((row.left(subject)?, done));
            }
        }
        Ok(scoped)
    }
}

impl ScopedRow {
    fn left(&self, subject: Subject) -> Result<Left, sqlx::Error> {
        Ok(Left {
            cursor: self.id,
            subject,
            state: None,
            car: parsed_option(self.car.as_deref())?,
            unit: None,
            position: self.position.as_deref().map(parsed).transpose()?,
            location: None,
            overdue: None,
            next_due: None,
            visit: None,
        })
    }

    fn component(&self, record: &ComponentRecord) -> Result<Left, sqlx::Error> {
        Ok(Left {
            state: record.modification.clone(),
            location: record.location().cloned(),
            ..self.left(Subject::Component(record.component.clone()))?
        })
    }
}

/// By unit; what is in none comes last.
fn progress(scoped: &[Scoped]) -> Vec<UnitProgress> {
    let mut counts: BTreeMap<(bool, Option<&UnitNumber>), (i64, i64)> = BTreeMap::new();
    for (one, done) in scoped {
        let unit = one.unit.as_ref();
        let (all, embodied) = counts.entry((unit.is_none(), unit)).or_default();
        *all += 1;
        *embodied += i64::from(*done);
    }
    let counts = counts.into_iter();
    counts
        .map(|((_, unit), (all, done))| UnitProgress {
            unit: unit.cloned(),
            all,
            done,
        })
        .collect()
}
