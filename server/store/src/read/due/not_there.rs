//! Whether the places that a list is narrowed to are in the register at all: nothing due on a car
//! and no such car are two answers.

use super::DueFilter;
use crate::connect::on;
use crate::error::StoreError;
use crate::read::View;
use sqlx::QueryBuilder;

impl View {
    /// Which fields of a filter name what is not in the register. One statement, with one lookup
    /// for each field but the part, which is in memory.
    pub async fn not_there(&mut self, filter: &DueFilter) -> Result<Vec<&'static str>, StoreError> {
        let named = [
            (
                "fleet",
                "car where fleet",
                filter.fleet.as_ref().map(|name| name.as_str()),
            ),
            (
                "depot",
                "car where depot",
                filter.depot.as_ref().map(|name| name.as_str()),
            ),
            (
                "unit",
                "unit where number",
                filter.unit.as_ref().map(|name| name.as_str()),
            ),
            (
                "car",
                "car where number",
                filter.car.as_ref().map(|name| name.as_str()),
            ),
        ];
        let named: Vec<_> = named
            .into_iter()
            .filter_map(|(field, place, name)| Some((field, place, name?)))
            .collect();
        let part = filter.part.as_ref();
        let known = |part| self.documents.parts.contains_key(part);
        let mut missing: Vec<&str> = part
            .into_iter()
            .filter(|part| !known(part))
            .map(|_| "part")
            .collect();
        if named.is_empty() {
            return Ok(missing);
        }
        let there: Vec<String> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("");
            for (index, (field, place, name)) in named.iter().enumerate() {
                query.push(if index == 0 { "select '" } else { " union all select '" });
                query.push(field).push("' as field where exists (select 1 from ").push(place);
                query.push(" = ").push_bind(*name).push(")");
            }
            query.build_query_scalar().fetch_all(conn).await
        })?;
        let absent = |field: &&str| !there.iter().any(|found| found == field);
        missing.extend(named.iter().map(|(field, ..)| *field).filter(absent));
        Ok(missing)
    }
}
