//! How far modifications have come: what is in the scope of one, and in what it is embodied. A
//! component needs nothing when it is in the state that the modification leaves it in, or a later
//! one; whether by an embodiment recorded here or as it came.

use super::View;
use super::cars::limit;
use crate::column::On;
use crate::connect::on;
use crate::error::StoreError;
use crate::row::{parsed, parsed_option, row};
use domain::configuration::component::{ComponentRef, Subject};
use domain::configuration::effectivity::CarRanges;
use domain::configuration::modification::{Modification, ModificationScope};
use domain::due::visit::Visit;
use domain::identity::{CarNumber, LocationName, ModificationState, PositionCode, UnitNumber};
use domain::ledger::dossier::Documents;
use domain::time::Day;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

/// What is left on one page.
pub const LEFT_PAGE: usize = 50;

/// How far a modification has come in one unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitProgress {
    /// The unit; none for cars in no unit and for what is on no car.
    pub unit: Option<UnitNumber>,
    /// How many are in its scope.
    pub all: i64,
    /// In how many it is embodied.
    pub done: i64,
}

/// Something in which a modification is still to be embodied.
#[derive(Debug, Clone, PartialEq)]
pub struct Left {
    /// By which the next page begins.
    pub cursor: i64,
    /// What.
    pub subject: Subject,
    /// Its modification state; none where it is not known or it is a car.
    pub state: Option<ModificationState>,
    /// The car it is on, or is.
    pub car: Option<CarNumber>,
    /// That car's unit.
    pub unit: Option<UnitNumber>,
    /// Where it is fitted.
    pub position: Option<PositionCode>,
    /// Where it is while not fitted.
    pub location: Option<LocationName>,
    /// The day on which that work on that car was due which is overdue the longest; none where
    /// none is overdue.
    pub overdue: Option<Day>,
    /// The day on which other work on that car is due next, where it could be done with it; none
    /// where none is due on a day.
    pub next_due: Option<Day>,
    /// The next visit of that car's unit during which it is to be embodied.
    pub visit: Option<Visit>,
}

row!(ProgressRow {
    unit_number: Option<String>,
    items: i64,
    done: i64,
});

row!(LeftRow {
    id: i64,
    part: Option<String>,
    serial: Option<String>,
    modification_state: Option<String>,
    car: Option<String>,
    unit_number: Option<String>,
    position: Option<String>,
    location: Option<String>,
    overdue: Option<On>,
    next_due: Option<On>,
});

impl LeftRow {
    fn left(&self) -> Result<Option<Left>, sqlx::Error> {
        let car: Option<CarNumber> = parsed_option(self.car.as_deref())?;
        let subject = match (&self.part, &self.serial, &car) {
            (Some(part), Some(serial), _) => Subject::Component(ComponentRef {
                part: parsed(part)?,
                serial: parsed(serial)?,
            }),
            (_, _, Some(car)) => Subject::Car(car.clone()),
            _ => return Ok(None),
        };
        Ok(Some(Left {
            cursor: self.id,
            subject,
            state: parsed_option(self.modification_state.as_deref())?,
            car,
            unit: parsed_option(self.unit_number.as_deref())?,
            position: parsed_option(self.position.as_deref())?,
            location: parsed_option(self.location.as_deref())?,
            overdue: self.overdue.map(|on| on.0),
            next_due: self.next_due.map(|on| on.0),
            visit: None,
        }))
    }
}

/// The states in which a component needs nothing.
pub(super) fn done_states<'a>(documents: &'a Documents, scope: &ModificationScope) -> Vec<&'a str> {
    let ModificationScope::Components { part, state, .. } = scope else {
        return Vec::new();
    };
    let part = documents.part(part);
    let states = part.into_iter().flat_map(|part| &part.modification_states);
    let from = states.skip_while(|known| *known != state);
    from.map(ModificationState::as_str).collect()
}

/// Pushes that a car is in ranges of cars.
macro_rules! ranges {
    ($query:expr, $cars:expr) => {{
        let cars: &CarRanges = $cars;
        $query.push(" and (1 = 0");
        for range in cars.ranges() {
            let (first, last) = range.ends();
            let length = i64::try_from(first.as_str().chars().count()).unwrap_or(i64::MAX);
            $query.push(" or (length(car.number) = ").push_bind(length);
            $query.push(" and car.number >= ").push_bind(first.as_str());
            $query
                .push(" and car.number <= ")
                .push_bind(last.as_str())
                .push(")");
        }
        $query.push(")");
    }};
}
pub(super) use ranges;

/// Pushes where the things of a scope are, and which they are. The words are the same for both
/// databases.
macro_rules! scope {
    ($query:expr, $modification:expr) => {{
        match &$modification.scope {
            ModificationScope::Components { part, positions, cars, .. } => {
                $query.push(" from component left join fitment on fitment.component_id = component.id and fitment.until_at is null and fitment.known_until is null left join car on car.id = fitment.car_id where component.condition <> 'scrapped' and component.withdrawn_by = 0 and component.part = ");
                $query.push_bind(part.as_str());
                if !positions.is_empty() {
                    $query.push(" and fitment.position in (");
                    let mut list = $query.separated(", ");
                    for position in positions {
                        list.push_bind(position.as_str());
                    }
                    $query.push(")");
                }
                if let Some(cars) = cars {
                    ranges!($query, cars);
                }
            }
            ModificationScope::Cars { car_type, cars } => {
                $query.push(" from car left join embodiment on embodiment.subject_car_id = car.id and embodiment.modification = ");
                $query.push_bind($modification.number.as_str());
                $query.push(" where car.car_type = ").push_bind(car_type.as_str());
                ranges!($query, cars);
            }
        }
    }};
}
pub(super) use scope;

/// Pushes whether one thing of a scope needs nothing.
macro_rules! is_done {
    ($query:expr, $modification:expr, $states:expr) => {{
        match &$modification.scope {
            ModificationScope::Components { .. } => {
                $query.push("(component.modification_state is not null and component.modification_state in (");
                let mut list = $query.separated(", ");
                for state in $states {
                    list.push_bind(*state);
                }
                $query.push("))");
            }
            ModificationScope::Cars { .. } => {
                $query.push("(embodiment.recorded_by is not null)");
            }
        }
    }};
}
pub(super) use is_done;

impl View {
    /// How far a modification has come, by unit. One statement, linear in its scope.
    pub async fn modification_progress(
        &mut self,
        modification: &Modification,
    ) -> Result<Vec<UnitProgress>, StoreError> {
        let documents = std::sync::Arc::clone(&self.documents);
        let states = done_states(&documents, &modification.scope);
        let rows: Vec<ProgressRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select unit_number, count(*) as items, count(done) as done from (select car.unit_number, case when ");
            is_done!(query, modification, &states);
            query.push(" then 1 end as done");
            scope!(query, modification);
            query.push(") scoped group by unit_number order by unit_number is null, unit_number");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut progress = Vec::with_capacity(rows.len());
        for row in rows {
            progress.push(UnitProgress {
                unit: parsed_option(row.unit_number.as_deref())?,
                all: row.items,
                done: row.done,
            });
        }
        Ok(progress)
    }

    /// What is left of a modification, in the order in which things came into the register, after
    /// a row; one more than a page where there are more. Two statements.
    pub async fn modification_left(
        &mut self,
        modification: &Modification,
        (after, today): (Option<i64>, Day),
    ) -> Result<Vec<Left>, StoreError> {
        let documents = std::sync::Arc::clone(&self.documents);
        let states = done_states(&documents, &modification.scope);
        let rows: Vec<LeftRow> = on!(&mut self.tx, conn => {
            let components = matches!(modification.scope, ModificationScope::Components { .. });
            let mut query = QueryBuilder::new(if components {
                "select component.id, component.part, component.serial, component.modification_state, car.number as car, car.unit_number, fitment.position, component.location "
            } else {
                "select car.id, null as part, null as serial, null as modification_state, car.number as car, car.unit_number, null as position, null as location "
            });
            query.push(", (select min(due.due_on) from due where due.car_id = car.id and due.due_on < ");
            query.push_bind(On(today)).push(" and due.latest_on < ").push_bind(On(today));
            query.push(") as overdue, (select min(due.due_on) from due where due.car_id = car.id and (due.due_on >= ");
            query.push_bind(On(today)).push(" or due.latest_on is null or due.latest_on >= ");
            query.push_bind(On(today)).push(")) as next_due");
            scope!(query, modification);
            query.push(" and not ");
            is_done!(query, modification, &states);
            let id = if components { "component.id" } else { "car.id" };
            if let Some(after) = after {
                query.push(" and ").push(id).push(" > ").push_bind(after);
            }
            query.push(" order by ").push(id).push(" limit ").push_bind(limit(LEFT_PAGE));
            query.build_query_as().fetch_all(conn).await
        })?;
        let left: Result<Vec<Option<Left>>, sqlx::Error> = rows.iter().map(LeftRow::left).collect();
        let mut left: Vec<Left> = left?.into_iter().flatten().collect();
        let units: BTreeSet<&UnitNumber> =
            left.iter().filter_map(|one| one.unit.as_ref()).collect();
        let visits = self
            .visits_embodying(&modification.number, (&units, today))
            .await?;
        for one in &mut left {
            one.visit = one.unit.as_ref().and_then(|unit| visits.get(unit)).cloned();
        }
        Ok(left)
    }
}
