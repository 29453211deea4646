//! One design: its circuit as text, what is doubtful in it, what each position takes, alone or
//! beside another revision.

use super::baseline::Baseline;
use super::named;
use super::trial::look_at;
use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::said::Said;
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use domain::configuration::car_type::CarType;
use domain::isolation::takes::LookedAt;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::APPROVES;
use domain::time::Day;
use domain::unreadable::Unreadable;
use serde::Deserialize;
use std::sync::Arc;
use store::read::View;

/// `?against=…&formation=…&at=…&known=…`: another revision, the formation to try both in, and the
/// times told of.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Asked {
    #[serde(default)]
    against: String,
    #[serde(default)]
    formation: String,
    #[serde(default)]
    at: String,
    #[serde(default)]
    known: String,
}

#[derive(Template)]
#[template(path = "car_types/one.html")]
struct CarTypePage {
    frame: Frame,
    /// Of which time it tells, where it is not of a proposal.
    speaks: Option<PageSpeaks>,
    name: String,
    revision: String,
    title: String,
    fleet: String,
    /// Where it stands: the entry that defined or proposed it.
    entry: (String, String),
    /// Who said so.
    said: Option<Said>,
    /// Whether it is only proposed.
    proposed: bool,
    /// The address of this page.
    own: String,
    text: String,
    /// The other revisions, each with the address of the comparison.
    others: Vec<(String, String)>,
    looked_at: LookedAt,
    baseline: Baseline,
    /// Where a revision is proposed, for those who may.
    revise: Option<[String; 3]>,
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = (
    "what was known of this revision, and for which cars it was in force",
    "It is tried in a unit as it is formed now.",
);

/// `GET /car-types/{name}/{revision}`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path((name, revision)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> PageResult {
    let times = AsAtQuery {
        at: asked.at.clone(),
        known: asked.known.clone(),
    };
    let speaks = times.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let found = named(&view.documents, &name, &revision)?;
    let (design, by) = (Arc::clone(&found.document), found.by);
    let against = match asked.against.as_str() {
        "" => None,
        against => Some(Arc::clone(
            &named(&view.documents, &name, against)?.document,
        )),
    };
    let own = address::car_type(&design.name, &design.revision);
    let of = Of {
        design: &design,
        by,
        on: state.zone.day_of(speaks.times.effective),
        speaks: Some(PageSpeaks::new((&times, &speaks), own.clone(), WHAT)),
        own,
    };
    car_type_page(&state, &signed_in, &mut view, (of, against, &asked)).await
}

/// `GET /approvals/{entry}/circuit`: a design that is proposed, beside the revision defined last.
pub(crate) async fn proposed(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(text): Path<String>,
    Query(asked): Query<Asked>,
) -> PageResult {
    let not_found = || Failure::NotFound {
        what: "proposal of a car type",
        name: text.clone(),
    };
    let number = text.parse();
    let number =
        number.map_err(|_| Unreadable::new("proposal", &text, "the number of an entry"))?;
    let mut view = state.store.view().await?;
    let kept = view.entry(Seq(number)).await?.ok_or_else(not_found)?;
    let Fact::Proposed(Proposal::CarType(design)) = &kept.entry.fact else {
        return Err(not_found());
    };
    let known = view.documents.car_types.values();
    let known = known.filter(|other| {
        other.document.name == design.name && other.document.revision != design.revision
    });
    let before = known.max_by_key(|other| other.by);
    let before = before.map(|other| Arc::clone(&other.document));
    let own = format!("/approvals/{number}/circuit");
    let design = Arc::new(CarType::clone(design));
    let of = Of {
        design: &design,
        by: Seq(number),
        on: state.today(),
        speaks: None,
        own,
    };
    car_type_page(&state, &signed_in, &mut view, (of, before, &asked)).await
}

/// The design of a page.
struct Of<'a> {
    design: &'a Arc<CarType>,
    by: Seq,
    own: String,
    /// The day told of.
    on: Day,
    /// Of which time it tells; nothing of a proposal, which is of now.
    speaks: Option<PageSpeaks>,
}

async fn car_type_page(
    state: &WebState,
    signed_in: &SignedIn,
    view: &mut View,
    (of, against, asked): (Of<'_>, Option<Arc<CarType>>, &Asked),
) -> PageResult {
    let design = of.design;
    let formation = asked.formation.trim();
    let looked_at = look_at(view, design, against.as_ref(), (formation, of.on)).await?;
    let entries = Baseline::entries(&view.documents, design).chain([of.by]);
    let entries: Vec<Seq> = entries.collect();
    let mut said = Said::of(view, &entries, &state.zone).await?;
    let mut others: Vec<_> = view.documents.car_types.keys().collect();
    others.retain(|(name, revision)| *name == design.name && *revision != design.revision);
    others.sort();
    let others = others.into_iter().map(|(_, revision)| {
        let fields = [
            ("against", revision.as_str()),
            ("at", &asked.at),
            ("known", &asked.known),
        ];
        (revision.to_string(), address::with_query(&of.own, fields))
    });
    let frame = Frame::new(state, signed_in);
    let of_now = of.speaks.as_ref().filter(|speaks| speaks.past.is_none());
    let revise = frame.holds(APPROVES) && of_now.is_some();
    let proposed = of.speaks.is_none();
    page(&CarTypePage {
        name: design.name.to_string(),
        revision: design.revision.to_string(),
        title: design.title.clone(),
        fleet: design.fleet.to_string(),
        entry: (address::entry(of.by), of.by.to_string()),
        said: said.remove(&of.by),
        proposed,
        others: if proposed {
            Vec::new()
        } else {
            others.collect()
        },
        text: design.circuit.to_text(),
        looked_at,
        baseline: Baseline::of(&view.documents, design, (against.as_deref(), &mut said)),
        revise: revise.then(|| {
            ["circuit", "approved", "effectivity"].map(|what| format!("{}/{what}", of.own))
        }),
        own: of.own,
        speaks: of.speaks,
        frame,
    })
}
