//! One design: its circuit as text, what is doubtful in it, what each position takes, alone or
//! beside another revision.

use super::baseline::Baseline;
use super::named;
use super::takes::{self, OtherwiseRow, SoundRow, TakesRow};
use super::trial::{Trial, Tried};
use crate::address;
use crate::failure::Failure;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use domain::circuit::check::{check, check_against};
use domain::circuit::compiled::CompiledCircuit;
use domain::configuration::car_type::CarType;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::APPROVES;
use domain::time::Day;
use domain::unreadable::Unreadable;
use domain::worked::MissingFact;
use serde::Deserialize;
use std::collections::BTreeSet;
use std::sync::Arc;
use store::read::View;

/// `?against=…&formation=…`: another revision, and the formation to try both in.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Asked {
    #[serde(default)]
    against: String,
    #[serde(default)]
    formation: String,
}

#[derive(Template)]
#[template(path = "car_types/one.html")]
struct CarTypePage {
    frame: Frame,
    name: String,
    revision: String,
    title: String,
    fleet: String,
    /// Where it stands: the entry that defined or proposed it.
    entry: (String, String),
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

/// A design looked at: what is doubtful, what differs from another, what each position takes.
pub(super) struct LookedAt {
    pub(super) remarks: Vec<String>,
    /// The revision it is compared with.
    pub(super) against: Option<String>,
    pub(super) gone: Vec<String>,
    pub(super) new: Vec<String>,
    /// The formation it was tried in, as text.
    pub(super) formation: String,
    /// The car that was looked at in it.
    pub(super) car: String,
    pub(super) lacking: Vec<MissingFact>,
    pub(super) sound: Vec<SoundRow>,
    pub(super) otherwise: Vec<OtherwiseRow>,
    pub(super) takes: Vec<TakesRow>,
}

impl LookedAt {
    /// Whether brakes of the sound train do not work that did with the other revision.
    pub(super) fn sound_is_worse(&self) -> bool {
        self.sound.iter().any(|row| row.worse)
    }

    /// Looks at a design, beside another if there is one: six statements.
    pub(super) async fn of(
        view: &mut View,
        design: &CarType,
        against: Option<&Arc<CarType>>,
        formation: &str,
        today: Day,
    ) -> Result<Self, Failure> {
        let built_to = against.map_or(design, |against| against);
        let trial = Trial::read(view, formation, built_to, today).await?;
        let text = trial.as_ref().map(|trial| trial.text.clone());
        let mut lacking = Vec::new();
        let tried = match trial {
            None => {
                lacking.push(MissingFact {
                    what: "a car to try it in; name a formation".into(),
                    of: format!("car type {} revision {}", built_to.name, built_to.revision),
                });
                Tried::default()
            }
            Some(trial) => match trial.run(design.clone(), against.cloned()).await? {
                Ok(tried) => tried,
                Err(missing) => {
                    lacking = missing.0;
                    Tried::default()
                }
            },
        };
        let (gone, new) = against.map_or_else(Default::default, |old| differences(old, design));
        let remarks = CompiledCircuit::new(design).map(|circuit| {
            let mut remarks = check(&circuit);
            remarks.extend(against.iter().flat_map(|old| check_against(&circuit, old)));
            remarks
        });
        Ok(Self {
            remarks: match remarks {
                Ok(remarks) => remarks.iter().map(ToString::to_string).collect(),
                Err(faults) => faults.iter().map(ToString::to_string).collect(),
            },
            against: against.map(|old| old.revision.to_string()),
            gone,
            new,
            formation: text.unwrap_or_else(|| formation.to_owned()),
            car: tried.car,
            lacking,
            sound: takes::sound_rows(&tried.sound, tried.sound_before.as_deref()),
            otherwise: against.map_or_else(Vec::new, |old| {
                takes::otherwise(
                    (design, old),
                    tried.otherwise.as_deref().unwrap_or_default(),
                )
            }),
            takes: takes::rows(design, &tried.takes),
        })
    }
}

/// The lines of text that only one of two circuits has: the old one's, the new one's.
pub(super) fn differences(old: &CarType, new: &CarType) -> (Vec<String>, Vec<String>) {
    let lines = |design: &CarType| -> Vec<String> {
        let text = design.circuit.to_text();
        let said = text
            .lines()
            .filter(|line| !line.is_empty() && !line.starts_with('#'));
        said.map(str::to_owned).collect()
    };
    let (old, new) = (lines(old), lines(new));
    let only = |these: &[String], those: &[String]| {
        let those: BTreeSet<&String> = those.iter().collect();
        let only = these.iter().filter(|line| !those.contains(line));
        only.cloned().collect()
    };
    (only(&old, &new), only(&new, &old))
}

/// `GET /car-types/{name}/{revision}`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path((name, revision)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> PageResult {
    let mut view = state.store.view().await?;
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
        own,
        proposed: false,
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
    let of = Of {
        design,
        by: Seq(number),
        own,
        proposed: true,
    };
    car_type_page(&state, &signed_in, &mut view, (of, before, &asked)).await
}

/// The design of a page.
struct Of<'a> {
    design: &'a CarType,
    by: Seq,
    own: String,
    proposed: bool,
}

async fn car_type_page(
    state: &WebState,
    signed_in: &SignedIn,
    view: &mut View,
    (of, against, asked): (Of<'_>, Option<Arc<CarType>>, &Asked),
) -> PageResult {
    let design = of.design;
    let formation = asked.formation.trim();
    let today = state.today();
    let looked_at = LookedAt::of(view, design, against.as_ref(), formation, today).await?;
    let mut others: Vec<_> = view.documents.car_types.keys().collect();
    others.retain(|(name, revision)| *name == design.name && *revision != design.revision);
    others.sort();
    let others = others.into_iter().map(|(_, revision)| {
        let against = address::with_query(&of.own, [("against", revision.as_str())]);
        (revision.to_string(), against)
    });
    let frame = Frame::new(state, signed_in);
    let revise = frame.holds(APPROVES) && !of.proposed;
    page(&CarTypePage {
        name: design.name.to_string(),
        revision: design.revision.to_string(),
        title: design.title.clone(),
        fleet: design.fleet.to_string(),
        entry: (address::entry(of.by), of.by.to_string()),
        proposed: of.proposed,
        others: if of.proposed {
            Vec::new()
        } else {
            others.collect()
        },
        text: design.circuit.to_text(),
        looked_at,
        baseline: Baseline::of(&view.documents, design, against.as_deref()),
        revise: revise.then(|| {
            ["circuit", "approved", "effectivity"].map(|what| format!("{}/{what}", of.own))
        }),
        own: of.own,
        frame,
    })
}
