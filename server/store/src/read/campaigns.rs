//! Which modifications still concern what is on a few cars, or anything at a place.

use super::View;
use super::modifications::{done_states, is_done, ranges, scope};
use crate::connect::on;
use crate::error::StoreError;
use crate::row::{parsed, parsed_option, row};
use domain::configuration::component::PositionRef;
use domain::configuration::effectivity::CarRanges;
use domain::configuration::modification::{Modification, ModificationScope};
use domain::due::place::WorkPlace;
use domain::identity::{
    CarNumber, CarTypeName, DepotName, FleetName, ModificationNumber, PartNumber, UnitNumber,
};
use domain::ledger::dossier::{Concerned, Issued};
use domain::time::{Day, Instant};
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet};

/// Modifications asked about by one statement: SQLite puts no more than 500 together in one.
const AT_ONCE: usize = 100;

/// One car, or those of a unit.
#[derive(Debug, Clone, Copy)]
pub enum OnCars<'a> {
    /// This one.
    Car(&'a CarNumber),
    /// All of this unit.
    Unit(&'a UnitNumber),
}

/// A modification that is still to be embodied in something.
#[derive(Debug, Clone, PartialEq)]
pub struct Campaign {
    /// The modification.
    pub issued: Issued,
    /// In how many components and cars, where that was counted.
    pub left: Option<usize>,
}

/// Where something is asked about, and until which last day.
#[derive(Debug, Clone, Copy)]
pub struct CampaignFilter<'a> {
    /// On cars of this fleet.
    pub fleet: Option<&'a FleetName>,
    /// On cars kept at this depot.
    pub depot: Option<&'a DepotName>,
    /// Components of this part.
    pub part: Option<&'a PartNumber>,
    /// On cars, or on none.
    pub place: Option<WorkPlace>,
    /// Modifications whose last day is not after this one.
    pub until: Day,
}

row!(OnCarRow {
    car: String,
    car_type: String,
    position: Option<String>,
    part: Option<String>,
    condition: Option<String>,
    modification_state: Option<String>,
    embodied: Option<String>,
});

impl View {
    /// The modifications, issued by a moment, that still concern what is on a few cars, those first
    /// whose last day comes first. One statement where any was issued; linear in what is on the cars.
    pub async fn campaigns_on(
        &mut self,
        on_cars: OnCars<'_>,
        by: Instant,
    ) -> Result<Vec<Campaign>, StoreError> {
        let documents = std::sync::Arc::clone(&self.documents);
        let issued: Vec<&Issued> = documents.modifications_issued(by).collect();
        if issued.is_empty() {
            return Ok(Vec::new());
        }
        let parts = issued.iter().filter_map(|one| match &one.document.scope {
            ModificationScope::Components { part, .. } => Some(part),
            ModificationScope::Cars { .. } => None,
        });
        let parts: BTreeSet<&PartNumber> = parts.collect();
        let rows = self.concerned_on(on_cars, &parts).await?;
        let mut left: BTreeMap<&ModificationNumber, usize> = BTreeMap::new();
        let mut cars: BTreeMap<(CarTypeName, CarNumber), BTreeSet<ModificationNumber>> =
            BTreeMap::new();
        for row in &rows {
            let car: CarNumber = parsed(&row.car)?;
            let (Some(part), Some(position), Some(condition)) =
                (&row.part, &row.position, &row.condition)
            else {
                let of_car = cars.entry((parsed(&row.car_type)?, car)).or_default();
                let embodied: Option<ModificationNumber> = parsed_option(row.embodied.as_deref())?;
                of_car.extend(embodied);
                continue;
            };
            let part = parsed(part)?;
            let state = parsed_option(row.modification_state.as_deref())?;
            let at = PositionRef {
                car,
                position: parsed(position)?,
            };
            let one = Concerned {
                part: &part,
                condition: parsed(condition)?,
                state: state.as_ref(),
                at: Some(&at),
            };
            for issued in documents.campaigns_of(&one, by) {
                *left.entry(&issued.document.number).or_default() += 1;
            }
        }
        for ((car_type, car), embodied) in &cars {
            for issued in documents.campaigns_of_car((car_type, car), embodied, by) {
                *left.entry(&issued.document.number).or_default() += 1;
            }
        }
        let campaigns = issued.into_iter().filter_map(|issued| {
            Some(Campaign {
                left: Some(*left.get(&issued.document.number)?),
                issued: issued.clone(),
            })
        });
        Ok(in_order(campaigns.collect()))
    }

    /// What of some parts is on the cars, and a row for each car with each modification embodied in
    /// it as a whole, or with none.
    async fn concerned_on(
        &mut self,
        on_cars: OnCars<'_>,
        parts: &BTreeSet<&PartNumber>,
    ) -> Result<Vec<OnCarRow>, StoreError> {
        let (column, name) = match on_cars {
            OnCars::Car(car) => ("car.number = ", car.as_str()),
            OnCars::Unit(unit) => ("car.unit_number = ", unit.as_str()),
        };
        Ok(on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select car.number as car, car.car_type, cast(null as text) as position, cast(null as text) as part, cast(null as text) as condition, cast(null as text) as modification_state, embodiment.modification as embodied from car left join embodiment on embodiment.subject_car_id = car.id where ");
            query.push(column).push_bind(name);
            if !parts.is_empty() {
                query.push(" union all select car.number, car.car_type, fitment.position, component.part, component.condition, component.modification_state, cast(null as text) from car cross join fitment cross join component where ");
                query.push(column).push_bind(name);
                query.push(" and fitment.car_id = car.id and fitment.until_at is null and fitment.known_until is null and component.id = fitment.component_id and component.part in (");
                let mut list = query.separated(", ");
                for part in parts {
                    list.push_bind(part.as_str());
                }
                query.push(")");
            }
            query.build_query_as().fetch_all(conn).await
        })?)
    }

    /// Those of some modifications in whose scope nothing in the register is. One statement for each
    /// hundred; of one in whose scope nothing is, linear in what could be.
    pub async fn with_nothing_in_scope(
        &mut self,
        some: &[&Modification],
    ) -> Result<BTreeSet<ModificationNumber>, StoreError> {
        let mut empty = BTreeSet::new();
        for some in some.chunks(AT_ONCE) {
            let found: Vec<String> = on!(&mut self.tx, conn => {
                let mut query = QueryBuilder::new("select '' as modification where 1 = 0");
                for modification in some {
                    query.push(" union all select ").push_bind(modification.number.as_str());
                    query.push(" where not exists (select 1 ");
                    scope!(query, modification);
                    query.push(")");
                }
                query.build_query_scalar().fetch_all(conn).await
            })?;
            for number in &found {
                empty.insert(parsed(number)?);
            }
        }
        Ok(empty)
    }

    /// The modifications that end by a day and are not embodied everywhere at a place, those first
    /// whose last day comes first. One statement for each hundred that end by then; of one that is
    /// embodied everywhere linear in what it was for.
    pub async fn campaigns_until(
        &mut self,
        filter: CampaignFilter<'_>,
        by: Instant,
    ) -> Result<Vec<Campaign>, StoreError> {
        let documents = std::sync::Arc::clone(&self.documents);
        let asked = |issued: &&Issued| {
            let of_part = match &issued.document.scope {
                ModificationScope::Components { part, .. } => {
                    filter.part.is_none_or(|asked| asked == part)
                }
                ModificationScope::Cars { .. } => {
                    filter.part.is_none() && filter.place != Some(WorkPlace::OffCars)
                }
            };
            issued.document.by <= filter.until && of_part
        };
        let issued: Vec<&Issued> = documents.modifications_issued(by).filter(asked).collect();
        if issued.is_empty() {
            return Ok(Vec::new());
        }
        let mut left: Vec<String> = Vec::new();
        for some in issued.chunks(AT_ONCE) {
            let found: Vec<String> = on!(&mut self.tx, conn => {
                let mut query = QueryBuilder::new("select '' as modification where 1 = 0");
                for one in some {
                    let modification = &one.document;
                    let states = done_states(&documents, &modification.scope);
                    query.push(" union all select ").push_bind(modification.number.as_str());
                    query.push(" where exists (select 1 ");
                    scope!(query, modification);
                    query.push(" and not ");
                    is_done!(query, modification, &states);
                    if let Some(fleet) = filter.fleet {
                        query.push(" and car.fleet = ").push_bind(fleet.as_str());
                    }
                    if let Some(depot) = filter.depot {
                        query.push(" and car.depot = ").push_bind(depot.as_str());
                    }
                    match filter.place {
                        Some(WorkPlace::OnCars) => query.push(" and car.id is not null)"),
                        Some(WorkPlace::OffCars) => query.push(" and car.id is null)"),
                        None => query.push(")"),
                    };
                }
                query.build_query_scalar().fetch_all(conn).await
            })?;
            left.extend(found);
        }
        let is_left = |issued: &&Issued| {
            let number = issued.document.number.as_str();
            left.iter().any(|one| one == number)
        };
        let campaigns = issued.into_iter().filter(is_left).map(|issued| Campaign {
            issued: issued.clone(),
            left: None,
        });
        Ok(in_order(campaigns.collect()))
    }
}

fn in_order(mut campaigns: Vec<Campaign>) -> Vec<Campaign> {
    campaigns.sort_by_key(|one| (one.issued.document.by, one.issued.by));
    campaigns
}
