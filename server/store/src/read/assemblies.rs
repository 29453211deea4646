//! What is inside an assembly, and what a component is and was inside.

use super::as_known::{holding_at, known_at};
use super::{AsAt, View};
use crate::column::{At, On};
use crate::connect::on;
use crate::dossier::assemblies::{INNER_FITMENT_COLUMNS, InnerFitmentRow};
use crate::error::StoreError;
use crate::read::due::forecast;
use crate::row::{Both, parsed, parsed_option, row};
use crate::shape::padded;
use domain::configuration::component::{ComponentRef, Condition};
use domain::due::forecast::Forecast;
use domain::identity::{LocationName, TaskCode};
use domain::ledger::dossier::OwnFitment;
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

/// A component inside an assembly now.
#[derive(Debug, Clone, PartialEq)]
pub struct Content {
    /// Where, in which of the assemblies inside one another.
    pub fitment: OwnFitment,
    /// Its condition.
    pub condition: Condition,
    /// When its tasks are due, by date; what has no date comes last.
    pub due: Vec<(TaskCode, Forecast)>,
}

/// What a component is and was inside.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Surroundings {
    /// The assemblies it is inside, from the innermost, each as the place of what is in it.
    pub above: Vec<OwnFitment>,
    /// Where the outermost of them is while it is not fitted.
    pub location: Option<LocationName>,
    /// All that it was ever inside, by the beginning, as known now.
    pub history: Vec<OwnFitment>,
}

impl Surroundings {
    /// The outermost assembly.
    pub fn outermost(&self) -> Option<&ComponentRef> {
        self.above.last()?.at.assembly()
    }
}

row!(InsideRow { component_id: i64 });

row!(HeldRow {
    outer_id: i64,
    part: String,
    serial: String
});

/// A fitment in an assembly, and where that is while not fitted.
#[derive(Debug)]
struct AboveRow {
    fitment: InnerFitmentRow,
    component_id: i64,
    host_id: i64,
    host_location: Option<String>,
}

/// A content with one of its tasks, if it has any.
#[derive(Debug)]
struct ContentRow {
    fitment: InnerFitmentRow,
    condition: String,
    task: Option<String>,
    days: [Option<On>; 5],
    set_by: Option<String>,
    lacking: Option<String>,
    at_once: Option<String>,
}

macro_rules! rows_from {
    ($row:ty) => {
        impl<'r> sqlx::FromRow<'r, $row> for AboveRow {
            fn from_row(row: &'r $row) -> Result<Self, sqlx::Error> {
                use sqlx::Row as _;
                Ok(Self {
                    fitment: InnerFitmentRow::from_row(row)?,
                    component_id: row.try_get("component_id")?,
                    host_id: row.try_get("host_id")?,
                    host_location: row.try_get("host_location")?,
                })
            }
        }

        impl<'r> sqlx::FromRow<'r, $row> for ContentRow {
            fn from_row(row: &'r $row) -> Result<Self, sqlx::Error> {
                use sqlx::Row as _;
                Ok(Self {
                    fitment: InnerFitmentRow::from_row(row)?,
                    condition: row.try_get("condition")?,
                    task: row.try_get("task")?,
                    days: [
                        row.try_get("due_on")?,
                        row.try_get("early_on")?,
                        row.try_get("late_on")?,
                        row.try_get("opens_on")?,
                        row.try_get("latest_on")?,
                    ],
                    set_by: row.try_get("set_by")?,
                    lacking: row.try_get("lacking")?,
                    at_once: row.try_get("at_once")?,
                })
            }
        }
    };
}
rows_from!(sqlx::sqlite::SqliteRow);
rows_from!(sqlx::postgres::PgRow);

/// Pushes which rows are meant, under ` and `: those known now, or those known at a time.
macro_rules! inner_known {
    ($query:expr, $then:expr) => {
        match $then {
            None => {
                $query.push(" and inner_fitment.known_until is null");
            }
            Some(as_at) => {
                let as_at: AsAt = as_at;
                known_at!($query, "inner_fitment", At(as_at.known));
            }
        }
    };
}

/// The same of those that last now, or lasted at a time.
macro_rules! inner_open {
    ($query:expr, $then:expr) => {
        match $then {
            None => {
                $query.push(" and inner_fitment.until_at is null");
            }
            Some(as_at) => {
                let as_at: AsAt = as_at;
                holding_at!($query, "inner_fitment", At(as_at.effective));
            }
        }
        inner_known!($query, $then);
    };
}

impl View {
    /// Everything inside some assemblies as at a time and as known at one, on all levels, by the assembly.
    /// One statement, none without an assembly; linear in the contents.
    pub(super) async fn inside_then(
        &mut self,
        assemblies: &[Seq],
        as_at: AsAt,
    ) -> Result<HashMap<Seq, BTreeSet<ComponentRef>>, StoreError> {
        let mut inside: HashMap<Seq, BTreeSet<ComponentRef>> = HashMap::new();
        if assemblies.is_empty() {
            return Ok(inside);
        }
        let ids: Vec<i64> = assemblies.iter().map(|id| id.0).collect();
        let then = Some(as_at);
        let rows: Vec<HeldRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("with recursive inside (outer_id, id) as (
                select inner_fitment.host_id, inner_fitment.component_id from inner_fitment where inner_fitment.host_id in (");
            let mut list = query.separated(", ");
            for id in padded(&ids) {
                list.push_bind(id.copied());
            }
            query.push(")");
            inner_open!(query, then);
            query.push(" union select inside.outer_id, inner_fitment.component_id from inside cross join inner_fitment where inner_fitment.host_id = inside.id");
            inner_open!(query, then);
            query.push(") select inside.outer_id, component.part, component.serial from inside cross join component where component.id = inside.id");
            query.build_query_as().fetch_all(conn).await
        })?;
        for row in rows {
            let component = ComponentRef {
                part: parsed(&row.part)?,
                serial: parsed(&row.serial)?,
            };
            let of = inside.entry(Seq(row.outer_id)).or_default();
            of.insert(component);
        }
        Ok(inside)
    }

    /// Everything inside an assembly as at a time and as known at one, on all levels, in the
    /// condition of now and without its due work. One statement, linear in the contents.
    pub async fn contents_then(
        &mut self,
        assembly: Seq,
        as_at: AsAt,
    ) -> Result<Vec<(OwnFitment, Seq)>, StoreError> {
        let then = Some(as_at);
        let rows: Vec<Both<InnerFitmentRow, InsideRow>> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("with recursive inside (id) as (
                select inner_fitment.component_id from inner_fitment where inner_fitment.host_id = ");
            query.push_bind(assembly.0);
            inner_open!(query, then);
            query.push(" union select inner_fitment.component_id from inside cross join inner_fitment where inner_fitment.host_id = inside.id");
            inner_open!(query, then);
            query.push(") select inner_fitment.component_id, ").push(INNER_FITMENT_COLUMNS);
            query.push(" from inside cross join inner_fitment cross join component cross join component host where inner_fitment.component_id = inside.id and component.id = inside.id and host.id = inner_fitment.host_id");
            inner_open!(query, then);
            query.push(" order by inner_fitment.id");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut contents = Vec::with_capacity(rows.len());
        for Both(fitment, of) in rows {
            let mut own = fitment.fitment()?;
            own.end = None;
            contents.push((own, Seq(of.component_id)));
        }
        Ok(contents)
    }

    /// Everything inside an assembly now, on all levels, with its due work: one statement, linear
    /// in the contents.
    pub async fn contents(&mut self, assembly: Seq) -> Result<Vec<Content>, StoreError> {
        let rows: Vec<ContentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("with recursive inside (id) as (
                select inner_fitment.component_id from inner_fitment where inner_fitment.until_at is null and inner_fitment.known_until is null and inner_fitment.host_id = ");
            query.push_bind(assembly.0);
            query.push(" union select inner_fitment.component_id from inside cross join inner_fitment
                    where inner_fitment.host_id = inside.id and inner_fitment.until_at is null and inner_fitment.known_until is null)
                select component.condition, due.task, due.due_on, due.early_on, due.late_on, due.opens_on, due.latest_on, due.set_by, due.lacking, due.at_once, ");
            query.push(INNER_FITMENT_COLUMNS);
            query.push(" from inside cross join inner_fitment cross join component cross join component host
                left join due on due.subject_id = inside.id
                where inner_fitment.component_id = inside.id and inner_fitment.until_at is null and inner_fitment.known_until is null
                and component.id = inside.id and host.id = inner_fitment.host_id
                order by inner_fitment.id, case when due.due_on is null then 1 else 0 end, due.due_on, due.task");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut contents: Vec<Content> = Vec::new();
        for row in rows {
            let fitment = row.fitment.fitment()?;
            if contents
                .last()
                .is_none_or(|last| last.fitment.id != fitment.id)
            {
                contents.push(Content {
                    fitment,
                    condition: parsed(&row.condition)?,
                    due: Vec::new(),
                });
            }
            if let (Some(task), Some(content)) = (&row.task, contents.last_mut()) {
                let forecast = forecast(
                    row.days,
                    row.set_by.as_deref(),
                    row.lacking.as_deref(),
                    row.at_once.as_deref(),
                )?;
                content.due.push((parsed(task)?, forecast));
            }
        }
        Ok(contents)
    }

    /// What a component is and was inside, or was as at a time and as known at one; where the
    /// outermost assembly is while not fitted is told of now alone. One statement.
    pub async fn surroundings(
        &mut self,
        component: Seq,
        then: Option<AsAt>,
    ) -> Result<Surroundings, StoreError> {
        let rows: Vec<AboveRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("with recursive way (id) as (
                select id from component where id = ");
            query.push_bind(component.0);
            query.push(" union select inner_fitment.host_id from way cross join inner_fitment
                    where inner_fitment.component_id = way.id");
            inner_open!(query, then);
            query.push(")
                select inner_fitment.component_id, inner_fitment.host_id, host.location as host_location, ");
            query.push(INNER_FITMENT_COLUMNS);
            query.push(" from way cross join inner_fitment cross join component cross join component host
                where inner_fitment.component_id = way.id
                and component.id = inner_fitment.component_id and host.id = inner_fitment.host_id");
            inner_known!(query, then);
            if let Some(as_at) = then {
                query.push(" and inner_fitment.from_at <= ").push_bind(At(as_at.effective));
            }
            query.push(" order by inner_fitment.from_at");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut surroundings = Surroundings::default();
        let mut at = component.0;
        let over = |until: At| then.is_none_or(|as_at| until.0 <= as_at.effective);
        let lasts = |row: &&AboveRow| row.fitment.until_at.is_none_or(|until| !over(until));
        let own = |row: &AboveRow| {
            let mut own = row.fitment.fitment()?;
            own.end = own.end.filter(|end| over(At(end.at)));
            Ok::<_, sqlx::Error>(own)
        };
        let open = |id: i64| {
            let mut open = rows.iter().filter(lasts);
            open.find(|row| row.component_id == id)
        };
        while let Some(row) = open(at).filter(|_| surroundings.above.len() < rows.len()) {
            surroundings.above.push(own(row)?);
            let location = row.host_location.as_deref().filter(|_| then.is_none());
            surroundings.location = parsed_option(location)?;
            at = row.host_id;
        }
        for row in rows.iter().filter(|row| row.component_id == component.0) {
            surroundings.history.push(own(row)?);
        }
        Ok(surroundings)
    }
}
