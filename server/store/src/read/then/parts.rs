//! The due work of a part as it was told: of its components wherever they were, on cars and off them.

use super::ToldThen;
use crate::column::At;
use crate::connect::on;
use crate::error::StoreError;
use crate::read::as_known::{holding_at, known_at};
use crate::read::cars::limit;
use crate::read::due::DueItem;
use crate::read::{AsAt, View};
use domain::due::place::WorkPlace;
use domain::identity::{CarNumber, PartNumber};
use domain::ledger::dossier::{CarRecord, Fitment};
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

/// Components of a part whose due work of the past is told at once.
pub const COMPONENTS_THEN_MAX: usize = 600;

impl View {
    /// All work on the components of a part as it was due then, on cars, on none or wherever they were,
    /// with the design data of then; nothing where there were more than [`COMPONENTS_THEN_MAX`].
    /// Sixteen statements, and one where the design data was changed since it was known.
    pub async fn part_then(
        &mut self,
        (part, place): (&PartNumber, Option<WorkPlace>),
        as_at: AsAt,
    ) -> Result<Option<(Vec<DueItem>, ToldThen)>, StoreError> {
        let components = self.components_then((part, place), as_at).await?;
        if COMPONENTS_THEN_MAX < components.len() {
            return Ok(None);
        }
        let told = self.told_then((&components, &[]), as_at).await?;
        let all = told.then.components();
        let placed = all.map(|record| {
            let mut fitments = told.then.fitments_of(&record.component).iter();
            let open = fitments.find(|fitment| fitment.end.is_none());
            (record.component.clone(), open)
        });
        let placed: Vec<(_, Option<&Fitment>)> = placed.collect();
        let on_cars = placed.iter().filter_map(|(_, open)| *open);
        let numbers: BTreeSet<&CarNumber> = on_cars.map(|fitment| &fitment.at.car).collect();
        let numbers: Vec<&CarNumber> = numbers.into_iter().collect();
        let cars = self.hosts_then(&numbers, as_at).await?;
        let at = (&self.zone, as_at.effective);
        let mut items = Vec::new();
        for (component, open) in &placed {
            let host = open.and_then(|fitment| cars.get(&fitment.at.car));
            items.extend(told.due_on_host((component, host), at));
        }
        Ok(Some((items, told)))
    }

    /// The cars of these numbers, each in the unit that it was in then.
    async fn hosts_then(
        &mut self,
        numbers: &[&CarNumber],
        as_at: AsAt,
    ) -> Result<HashMap<CarNumber, CarRecord>, StoreError> {
        if numbers.is_empty() {
            return Ok(HashMap::new());
        }
        let last = self.last_recorded(as_at.known).await?;
        let cars = self.cars_named(numbers, last).await?;
        let cars = self
            .cars_as_then(cars.into_values().collect(), as_at)
            .await?;
        let cars = cars.into_iter().map(|car| (car.car.number.clone(), car));
        Ok(cars.collect())
    }

    /// The components of a part that were there then, one more than may be told of where there were
    /// more.
    async fn components_then(
        &mut self,
        (part, place): (&PartNumber, Option<WorkPlace>),
        as_at: AsAt,
    ) -> Result<Vec<i64>, StoreError> {
        let (effective, known) = (At(as_at.effective), At(as_at.known));
        let components: Vec<i64> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select component.id from component where component.part = ");
            query.push_bind(part.as_str());
            query.push(" and exists (select 1 from component_state where component_state.component_id = component.id and component_state.since <= ");
            query.push_bind(effective);
            known_at!(query, "component_state", known);
            query.push(")");
            if let Some(place) = place {
                query.push(match place {
                    WorkPlace::OnCars => " and exists (select 1 from fitment where fitment.component_id = component.id ",
                    WorkPlace::OffCars => " and not exists (select 1 from fitment where fitment.component_id = component.id ",
                });
                holding_at!(query, "fitment", effective);
                known_at!(query, "fitment", known);
                query.push(")");
            }
            query.push(" limit ").push_bind(limit(COMPONENTS_THEN_MAX));
            query.build_query_scalar().fetch_all(conn).await
        })?;
        Ok(components)
    }
}
