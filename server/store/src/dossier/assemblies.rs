//! What was inside assemblies, as kept.

use super::KEYS;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{parsed, parsed_option, row};
use crate::shape::padded;
use domain::configuration::component::ComponentRef;
use domain::configuration::host::{Host, HostPosition};
use domain::ledger::dossier::{Dossier, FitmentEnd, FitmentId, OwnFitment};
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;

row!(
    /// A fitment in an assembly as known now, with the names of both components.
    InnerFitmentRow {
        id: i64,
        part: String,
        serial: String,
        host_part: String,
        host_serial: String,
        position: String,
        from_at: At,
        fitted_by: i64,
        from_location: Option<String>,
        until_at: Option<At>,
        removed_by: Option<i64>,
        removal_reason: Option<String>,
        removed_to: Option<String>,
    }
);

/// The columns of [`InnerFitmentRow`], from `inner_fitment`, `component` and `component host`.
pub(crate) const INNER_FITMENT_COLUMNS: &str = "inner_fitment.id, component.part, component.serial, host.part as host_part, host.serial as host_serial, inner_fitment.position, inner_fitment.from_at, inner_fitment.fitted_by, inner_fitment.from_location, inner_fitment.until_at, inner_fitment.removed_by, inner_fitment.removal_reason, inner_fitment.removed_to";

impl InnerFitmentRow {
    /// The fitment as the core has it.
    pub(crate) fn fitment(&self) -> Result<OwnFitment, sqlx::Error> {
        let end = match (self.until_at, self.removed_by) {
            (Some(at), Some(by)) => Some(FitmentEnd {
                at: at.0,
                by: Seq(by),
                reason: parsed_option(self.removal_reason.as_deref())?,
                to: parsed_option(self.removed_to.as_deref())?,
            }),
            _ => None,
        };
        Ok(OwnFitment {
            id: FitmentId(self.id),
            component: ComponentRef {
                part: parsed(&self.part)?,
                serial: parsed(&self.serial)?,
            },
            at: HostPosition {
                host: Host::Assembly(ComponentRef {
                    part: parsed(&self.host_part)?,
                    serial: parsed(&self.host_serial)?,
                }),
                position: parsed(&self.position)?,
            },
            from: self.from_at.0,
            fitted_by: Seq(self.fitted_by),
            from_location: parsed_option(self.from_location.as_deref())?,
            end,
        })
    }
}

/// On which side of a fitment in an assembly the components stand that are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    /// They are what is inside.
    Component,
    /// They are the assembly, or what is inside.
    Either,
}

/// Where the components were inside assemblies; and what was directly inside them.
const INSIDE: &str = "inner_fitment.component_id = wanted.id";
const INSIDE_OR_HOST: &str =
    "(inner_fitment.component_id = wanted.id or inner_fitment.host_id = wanted.id)";

/// Loads where the components of the dossier were inside assemblies, or that and what was
/// directly inside them. One statement.
pub(crate) async fn load_inner_fitments(
    tx: &mut Tx,
    dossier: &mut Dossier,
    side: Side,
) -> Result<(), StoreError> {
    let records = dossier.components.values();
    let ids: Vec<i64> = records.map(|record| record.id.0).collect();
    for chunk in ids.chunks(KEYS) {
        let rows: Vec<InnerFitmentRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (id) as (");
            query.push_values(padded(chunk), |mut row, id| {
                row.push_bind(id.copied());
            });
            query.push(") select ").push(INNER_FITMENT_COLUMNS);
            query.push(" from wanted cross join inner_fitment cross join component cross join component host where ");
            query.push(match side {
                Side::Component => INSIDE,
                Side::Either => INSIDE_OR_HOST,
            });
            query.push(" and inner_fitment.known_until is null and component.id = inner_fitment.component_id and host.id = inner_fitment.host_id");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        for row in rows {
            dossier.load_own_fitment(row.fitment()?);
        }
    }
    Ok(())
}
