//! What somebody typed or scanned, looked up as everything that it can name.

use super::View;
use crate::connect::on;
use crate::error::StoreError;
use crate::row::{parsed, row};
use domain::identity::{CarNumber, PartNumber, TrainId, UnitNumber, fold};
use domain::ledger::dossier::ComponentRecord;
use domain::vehicle_number::VehicleNumber;

/// What a text names.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Named {
    /// Cars of that number or vehicle number.
    pub cars: Vec<CarNumber>,
    /// Units.
    pub units: Vec<UnitNumber>,
    /// Trains.
    pub trains: Vec<TrainId>,
    /// The parts that have items of a batch that folds to it.
    pub batches: Vec<PartNumber>,
    /// Components whose serial number folds to it.
    pub components: Vec<ComponentRecord>,
}

row!(NameRow {
    kind: String,
    name: String
});

const NAMES: &str = "select 'car' as kind, number as name from car where number in ($1, $2)
    union select 'car', number from car where vehicle_number = $3
    union select 'unit', number from unit where number in ($1, $2)
    union select 'train', name from train where name in ($1, $2)
    union select 'batch', component.part from component_state cross join component
        where component_state.batch_folded = $4 and component_state.known_until is null
        and component.id = component_state.component_id and component.withdrawn_by = 0
    order by kind, name";

impl View {
    /// Looks a text up as typed and in capitals; a serial number and a batch without blanks, hyphens
    /// and case. Two statements, each a read of indexes.
    pub async fn named(&mut self, typed: &str) -> Result<Named, StoreError> {
        let vehicle_number = typed.parse::<VehicleNumber>();
        let vehicle_number = vehicle_number.map_or_else(|_| String::new(), |n| n.to_string());
        let rows: Vec<NameRow> = on!(&mut self.tx, conn => sqlx::query_as(NAMES)
            .bind(typed).bind(typed.to_uppercase()).bind(vehicle_number).bind(fold(typed))
            .fetch_all(conn).await)?;
        let mut named = Named {
            components: self.components_by_serial(typed).await?,
            ..Named::default()
        };
        for row in rows {
            match row.kind.as_str() {
                "car" => named.cars.push(parsed(&row.name)?),
                "unit" => named.units.push(parsed(&row.name)?),
                "batch" => named.batches.push(parsed(&row.name)?),
                _ => named.trains.push(parsed(&row.name)?),
            }
        }
        Ok(named)
    }
}
