//! What a command would change, found by recording it and taking it back.

use crate::column::On;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::ledger;
use crate::record::{Decided, Store};
use crate::row::{parsed, row};
use crate::settle;
use domain::configuration::component::{ComponentRef, Subject};
use domain::identity::{TaskCode, TrainId};
use domain::ledger::command::Command;
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use domain::people::Actor;
use domain::time::{Day, Instant};
use futures_util::FutureExt;
use futures_util::future::BoxFuture;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// The most dates that are told one by one.
pub const TOLD_MAX: usize = 30;

/// What is foreseen of a command.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Foresight {
    /// It was recorded before, as this entry.
    Recorded(Seq),
    /// What it would change.
    Would(Foreseen),
}

/// What a command would change beyond what it says.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Foreseen {
    /// Due work whose date would be another, the earliest first, at most [`TOLD_MAX`].
    pub due: Vec<DueMoved>,
    /// How many dates would be others in all.
    pub moved: usize,
    /// Decisions about trains that would become void, each by its entry.
    pub void: Vec<(Seq, TrainId)>,
}

/// Due work whose date would be another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueMoved {
    /// What the work is done on.
    pub subject: Subject,
    /// The task.
    pub task: TaskCode,
    /// The date now; none where it has none or is not due yet at all.
    pub before: Option<Day>,
    /// The date then.
    pub after: Option<Day>,
}

row!(DateRow {
    subject_id: i64,
    task: String,
    due_on: Option<On>,
});

row!(NameRow {
    id: i64,
    part: String,
    serial: String,
});

/// The dates of tasks by subject and code.
type Dates = BTreeMap<(i64, String), Option<Day>>;

impl Foreseen {
    /// Whether nothing changes beyond what the command says.
    pub fn is_nothing(&self) -> bool {
        self.moved == 0 && self.void.is_empty()
    }
}

impl Store {
    /// What a command would change, or why it would be refused. Nothing is recorded, and a refusal
    /// is no refused attempt. Holds the ledger as long as recording does. Boxed: a write is deep,
    /// and the compiler would go through it again for each handler that waits for one.
    pub fn foresee<'s>(
        &'s self,
        actor: &'s Actor,
        command: Command,
        now: Instant,
    ) -> BoxFuture<'s, Result<Foresight, StoreError>> {
        self.foresee_here(actor, command, now).boxed()
    }

    async fn foresee_here(
        &self,
        actor: &Actor,
        command: Command,
        now: Instant,
    ) -> Result<Foresight, StoreError> {
        let mut tx = self.pools.begin().await?;
        let head = ledger::take_head(&mut tx).await?;
        if let Some(before) = ledger::known_command(&mut tx, command.id).await? {
            tx.rollback().await?;
            return Ok(Foresight::Recorded(before));
        }
        let Decided { mut dossier, entry } =
            self.decide(&mut tx, &head, (actor, command), now).await?;
        let concerned = Concerned::of(&dossier);
        let before = concerned.dates(&mut tx).await?;
        self.keep(&mut tx, head, &mut dossier, &[entry]).await?;
        let settling = self.settling(&dossier.documents);
        settle::settle(&mut tx, &settling, &mut dossier).await?;
        let after = concerned.dates(&mut tx).await?;
        let moved = moved(&before, &after);
        let told: Vec<_> = moved.iter().take(TOLD_MAX).collect();
        let ids: BTreeSet<i64> = told.iter().map(|((id, _), _)| *id).collect();
        let names = names(&mut tx, &dossier, &ids).await?;
        tx.rollback().await?;
        let mut due = Vec::with_capacity(told.len());
        for ((id, task), (before, after)) in told {
            if let Some(subject) = names.get(id) {
                due.push(DueMoved {
                    subject: subject.clone(),
                    task: parsed(task)?,
                    before: *before,
                    after: *after,
                });
            }
        }
        let void = dossier.changes.decisions.iter().filter_map(|id| {
            let record = dossier.decisions.get(id)?;
            record.void.as_ref()?;
            Some((*id, record.taken.train.clone()))
        });
        Ok(Foresight::Would(Foreseen {
            due,
            moved: moved.len(),
            void: void.collect(),
        }))
    }
}

/// The cars and components whose dates a command can move.
struct Concerned {
    cars: Vec<i64>,
    components: Vec<i64>,
}

impl Concerned {
    fn of(dossier: &Dossier) -> Self {
        let changes = &dossier.changes;
        let cars = changes.stale_cars.iter().chain(&changes.stale_meters);
        let cars = cars.chain(changes.stale_marks.keys());
        let cars: BTreeSet<i64> = cars
            .filter_map(|car| Some(dossier.cars.get(car)?.id.0))
            .collect();
        let components = changes.stale_components.iter();
        let components = components.filter_map(|one| Some(dossier.components.get(one)?.id.0));
        Self {
            cars: cars.into_iter().collect(),
            components: components.collect(),
        }
    }

    async fn dates(&self, tx: &mut Tx) -> Result<Dates, StoreError> {
        let mut dates = Dates::new();
        for (column, ids) in [("car_id", &self.cars), ("subject_id", &self.components)] {
            if ids.is_empty() {
                continue;
            }
            let rows: Vec<DateRow> = on!(&mut *tx, conn => {
                let mut query = QueryBuilder::new("select subject_id, task, due_on from due where ");
                query.push(column).push(" in (");
                let mut list = query.separated(", ");
                for id in ids {
                    list.push_bind(*id);
                }
                query.push(")");
                query.build_query_as().fetch_all(conn).await
            })?;
            let rows = rows.into_iter();
            dates.extend(rows.map(|row| ((row.subject_id, row.task), row.due_on.map(|on| on.0))));
        }
        Ok(dates)
    }
}

/// A task with its dates before and after.
type Moved<'d> = (&'d (i64, String), (Option<Day>, Option<Day>));

/// The tasks whose dates differ, those first that become due first.
fn moved<'d>(before: &'d Dates, after: &'d Dates) -> Vec<Moved<'d>> {
    let all: BTreeSet<&(i64, String)> = before.keys().chain(after.keys()).collect();
    let mut moved: Vec<Moved<'d>> = all
        .into_iter()
        .map(|key| {
            let at = |dates: &Dates| dates.get(key).copied().flatten();
            (key, (at(before), at(after)))
        })
        .filter(|(_, (before, after))| before != after)
        .collect();
    moved.sort_by_key(|(_, (before, after))| {
        let first = [*before, *after].into_iter().flatten().min();
        (first.is_none(), first)
    });
    moved
}

async fn names(
    tx: &mut Tx,
    dossier: &Dossier,
    ids: &BTreeSet<i64>,
) -> Result<HashMap<i64, Subject>, StoreError> {
    let mut names = HashMap::new();
    for (number, car) in &dossier.cars {
        names.insert(car.id.0, Subject::Car(number.clone()));
    }
    if ids.is_empty() {
        return Ok(names);
    }
    let rows: Vec<NameRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select id, part, serial from component where id in (");
        let mut list = query.separated(", ");
        for id in ids {
            list.push_bind(*id);
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    for row in rows {
        let component = ComponentRef {
            part: parsed(&row.part)?,
            serial: parsed(&row.serial)?,
        };
        names.insert(row.id, Subject::Component(component));
    }
    Ok(names)
}
