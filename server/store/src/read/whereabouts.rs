//! Where some components are while they are fitted, for lists that lead to them.

use super::View;
use crate::connect::on;
use crate::error::StoreError;
use crate::row::{parsed, parsed_option, row};
use domain::configuration::component::ComponentRef;
use domain::configuration::host::{Host, HostPosition};
use domain::ledger::dossier::ComponentRecord;
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::BTreeMap;

/// The positions of some components, by their numbers.
pub type Whereabouts = BTreeMap<Seq, HostPosition>;

row!(PlaceRow {
    component_id: i64,
    car: Option<String>,
    part: Option<String>,
    serial: Option<String>,
    position: String,
});

impl PlaceRow {
    fn place(&self) -> Result<Option<HostPosition>, sqlx::Error> {
        let assembly = self.part.as_deref().zip(self.serial.as_deref());
        let host = match (parsed_option(self.car.as_deref())?, assembly) {
            (Some(car), _) => Host::Car(car),
            (None, Some((part, serial))) => Host::Assembly(ComponentRef {
                part: parsed(part)?,
                serial: parsed(serial)?,
            }),
            (None, None) => return Ok(None),
        };
        let position = parsed(&self.position)?;
        Ok(Some(HostPosition { host, position }))
    }
}

impl View {
    /// Where those of some components are that are kept at no location: the position of the car
    /// they are on, by the codes of all levels, or that of the assembly they are inside while it is
    /// on none. At most one statement; linear in the components.
    pub async fn whereabouts(
        &mut self,
        components: &[ComponentRecord],
    ) -> Result<Whereabouts, StoreError> {
        let fitted = components.iter().filter(|one| one.kept.is_none());
        let ids: Vec<i64> = fitted.map(|one| one.id.0).collect();
        if ids.is_empty() {
            return Ok(Whereabouts::new());
        }
        let rows: Vec<PlaceRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select fitment.component_id, car.number as car, null as part, null as serial, fitment.position from fitment join car on car.id = fitment.car_id where fitment.until_at is null and fitment.known_until is null and fitment.component_id in (");
            let mut list = query.separated(", ");
            for id in &ids {
                list.push_bind(*id);
            }
            query.push(") union all select inner_fitment.component_id, null, host.part, host.serial, inner_fitment.position from inner_fitment join component host on host.id = inner_fitment.host_id where inner_fitment.until_at is null and inner_fitment.known_until is null and inner_fitment.component_id in (");
            let mut list = query.separated(", ");
            for id in &ids {
                list.push_bind(*id);
            }
            query.push(")");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut places = Whereabouts::new();
        for row in &rows {
            let Some(place) = row.place()? else { continue };
            let id = Seq(row.component_id);
            // On a car by an assembly, it is found by the car.
            if matches!(place.host, Host::Car(_)) {
                places.insert(id, place);
            } else {
                places.entry(id).or_insert(place);
            }
        }
        Ok(places)
    }
}
