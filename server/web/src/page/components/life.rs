//! The life of a component from its making to now: every entry that says something of it, and
//! between them the gaps.

use super::component::{Told, component_ref};
use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks, Speaks};
use crate::fact;
use crate::frame::Frame;
use crate::not_there::no_component;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use domain::configuration::component::ComponentRef;
use domain::due::task::{Interval, Task};
use domain::identity::PartNumber;
use domain::ledger::certified::Certified;
use domain::ledger::dossier::{ComponentRecord, Documents};
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use domain::ledger::life::{CameOff, Gap, Lacking, Line, life};
use domain::units::Meter;
use std::collections::BTreeSet;
use std::sync::Arc;
use store::read::View;
use store::read::life::LIFE_MAX;

#[derive(Template)]
#[template(path = "components/life.html")]
struct LifePage {
    frame: Frame,
    speaks: PageSpeaks,
    component: ComponentRef,
    record: ComponentRecord,
    gaps: usize,
    rows: Vec<Row>,
    /// Whether older entries are left out.
    cut: bool,
}

enum Row {
    Entry(EntryLine),
    Gap { when: String, what: String },
}

struct EntryLine {
    when: String,
    what: String,
    details: Vec<(String, String)>,
    by: String,
    recorded: String,
    seq: Seq,
}

/// A life, and whether older entries are left out.
pub(crate) struct LifeRead {
    pub(crate) record: ComponentRecord,
    pub(crate) lines: Vec<Line>,
    /// What certificates say is left, held against the register.
    pub(crate) certified: Vec<Certified>,
    pub(crate) cut: bool,
}

/// `GET /components/{part}/{serial}/life?at=…&known=…`. At most seven statements; of a past time
/// at most seventeen.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path((part, serial)): Path<(String, String)>,
    Query(query): Query<AsAtQuery>,
) -> PageResult {
    let component = component_ref(&part, &serial)?;
    let speaks = query.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let found = read(&mut view, &component, (&speaks, &state)).await?;
    let Some(found) = found else {
        return Err(no_component(&mut view, &component).await?);
    };
    let gaps = found
        .lines
        .iter()
        .filter(|line| matches!(line, Line::Gap(_)));
    let path = address::life(&component);
    let what = ("what held of it", "");
    page(&LifePage {
        frame: Frame::new(&state, &signed_in),
        speaks: PageSpeaks::new((&query, &speaks), path, what),
        gaps: gaps.count(),
        rows: found.lines.iter().map(|line| row(line, &state)).collect(),
        component,
        record: found.record,
        cut: found.cut,
    })
}

/// The life of a component, if the register knows of it.
pub(crate) async fn read(
    view: &mut View,
    component: &ComponentRef,
    (speaks, state): (&Speaks, &WebState),
) -> Result<Option<LifeRead>, store::StoreError> {
    let Some(told) = Told::read(view, component, speaks).await? else {
        return Ok(None);
    };
    let life_of = told.life;
    let mut entries = entries(view, &life_of.record, speaks).await?;
    let cut = LIFE_MAX < entries.len();
    if cut {
        entries.remove(0);
    }
    let history = life_of.history();
    let certified = history.certified(&entries, &told.documents, &state.zone);
    let meters = meters(&told.documents, &component.part, &life_of.record);
    let inside = life_of.surroundings.history.as_slice();
    let of = (&life_of.record, life_of.fitments.as_slice(), inside);
    let counting = (meters.as_slice(), life_of.last_read.as_slice());
    let lines = life(of, entries, counting, &state.zone);
    Ok(Some(LifeRead {
        record: life_of.record,
        lines,
        certified,
        cut,
    }))
}

/// The entries that say something of a component, now or as at a time. One statement.
pub(super) async fn entries(
    view: &mut View,
    record: &ComponentRecord,
    speaks: &Speaks,
) -> Result<Vec<Entry>, store::StoreError> {
    match speaks.then() {
        None => view.entries_of(record).await,
        Some(as_at) => view.entries_of_then(record, as_at).await,
    }
}

/// The meters that count for a component: those that its tasks have limits by, and those that it
/// brought something by.
fn meters(documents: &Documents, part: &PartNumber, record: &ComponentRecord) -> Vec<Meter> {
    let limits = |task: &Arc<Task>| {
        let limits = task.limits.iter().map(|limit| limit.interval);
        limits.collect::<Vec<_>>()
    };
    let of_tasks = documents.tasks_of_part(part).iter().flat_map(limits);
    let mut meters: BTreeSet<Meter> = of_tasks
        .filter_map(|interval| match interval {
            Interval::Usage(meter, _) => Some(meter),
            Interval::Days(_) | Interval::Months(_) => None,
        })
        .collect();
    let brought = record.brought.by_meter();
    meters.extend(Meter::ALL.iter().filter(|meter| brought[**meter].is_some()));
    meters.into_iter().collect()
}

fn row(line: &Line, state: &WebState) -> Row {
    match line {
        Line::Entry(entry) => Row::Entry(entry_line(entry, state)),
        Line::CameOff(off) => Row::Entry(came_off(off, state)),
        Line::Gap(gap) => Row::Gap {
            when: stretch(gap),
            what: lacking(gap),
        },
    }
}

fn entry_line(entry: &Entry, state: &WebState) -> EntryLine {
    EntryLine {
        when: state.zone.show(entry.effective_at),
        what: match &entry.fact {
            // Its end is a line of its own.
            Fact::Fitted(fitting) => fact::fitted(fitting),
            other => fact::sentence(other, &state.zone),
        },
        details: details(&entry.fact, state),
        by: entry.actor.to_string(),
        recorded: state.zone.told(entry.recorded_at),
        seq: entry.seq,
    }
}

/// How a fitment ended, by the entry that began it.
fn came_off(off: &CameOff, state: &WebState) -> EntryLine {
    EntryLine {
        when: state.zone.show(off.at),
        what: fact::sentence(&off.removed, &state.zone),
        details: details(&off.removed, state),
        ..entry_line(&off.entry, state)
    }
}

/// What a certificate says is part of the life, and the condition after a removal; the rest is on the page of the entry.
fn details(fact: &Fact, state: &WebState) -> Vec<(String, String)> {
    let told = match fact {
        Fact::ComponentReceived(receipt) => receipt.certificate_number().is_some(),
        Fact::TaskDone { .. }
        | Fact::ConditionJudged { .. }
        | Fact::HeldAsEvidence { .. }
        | Fact::Removed { .. } => true,
        _ => false,
    };
    if !told {
        return Vec::new();
    }
    // What the sentence has said, and of a removal where it is bound for.
    let shown: &[&str] = match fact {
        Fact::Removed { .. } => &[
            "component",
            "reason",
            "to location",
            "bound for",
            "expected on",
        ],
        _ => &["component", "condition", "task", "done on"],
    };
    let rows = fact::rows(fact, &state.zone).into_iter();
    rows.filter(|row| !shown.contains(&row.what.as_str()))
        .map(|row| (row.what, row.value))
        .collect()
}

/// From when to when a gap lasts.
pub(crate) fn stretch(gap: &Gap) -> String {
    let from = gap
        .from
        .map_or("an unknown day".to_owned(), |day| day.to_string());
    let until = gap.until.map_or("now".to_owned(), |day| day.to_string());
    format!("{from} to {until}")
}

/// What is not known, in words.
pub(crate) fn lacking(gap: &Gap) -> String {
    let words: Vec<String> = gap.lacking.iter().map(in_words).collect();
    words.join("; ")
}

fn in_words(lacking: &Lacking) -> String {
    match lacking {
        Lacking::Making => "when it was made is not known".to_owned(),
        Lacking::BeforeReceipt => {
            "before it came into the register: where it was and what was done on it is told by its \
             papers at most"
                .to_owned()
        }
        Lacking::BroughtIn(meters) => {
            format!(
                "what it had run before it came in is not known: {}",
                list(meters)
            )
        }
        Lacking::Papers => {
            "papers unknown: it was taken in as serviceable without a certificate".to_owned()
        }
        Lacking::OtherSide(fitment) => format!(
            "robbed from {} for another car, which the entry does not name",
            fitment.at
        ),
        Lacking::OnCar(fitment, meters) => format!(
            "what it ran at {} is not known: {} not read",
            fitment.at,
            list(meters)
        ),
        Lacking::Estimated(fitment, meters) => format!(
            "what it ran at {} in that time is estimated at the car’s daily rate, until a later \
             reading of the car tells it: {} not read when it came off",
            fitment.at,
            list(meters)
        ),
    }
}

fn list(meters: &[Meter]) -> String {
    let names: Vec<String> = meters.iter().map(ToString::to_string).collect();
    names.join(", ")
}

impl LifePage {
    fn back(&self) -> String {
        address::component(&self.component)
    }
}
