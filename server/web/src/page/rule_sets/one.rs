//! One rule set in words, alone or beside another revision of it.

use super::list::WHAT;
use super::{named, standing};
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
use domain::ledger::dossier::Documents;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::APPROVES;
use domain::rule_set::RuleSet;
use domain::rule_set::words::{Difference, Part, differences, head, rules};
use domain::unreadable::Unreadable;
use serde::Deserialize;

/// `?against=…&at=…&known=…`: another revision, and the times told of.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Asked {
    #[serde(default)]
    against: String,
    #[serde(default)]
    at: String,
    #[serde(default)]
    known: String,
}

#[derive(Template)]
#[template(path = "rule_sets/one.html")]
struct RuleSetPage {
    frame: Frame,
    /// Of which time it tells, where it is not of a proposal.
    speaks: Option<PageSpeaks>,
    name: String,
    revision: String,
    standing: String,
    entry: (String, String),
    /// Who said so.
    said: Option<Said>,
    head: Vec<Part>,
    rules: Vec<Part>,
    /// The other revisions, each with the address of the comparison.
    others: Vec<(String, String)>,
    compared: Option<Compared>,
    /// Where a new revision is proposed, for those who may.
    revise: Option<String>,
    /// Whether it only waits for a second person.
    proposed: bool,
}

/// Another revision and what differs from it.
pub(crate) struct Compared {
    pub(crate) revision: String,
    /// The revision that is looked at.
    pub(crate) with: String,
    pub(crate) differences: Vec<Difference>,
}

impl Compared {
    fn new(other: &RuleSet, set: &RuleSet) -> Self {
        Self {
            revision: other.revision.to_string(),
            with: set.revision.to_string(),
            differences: differences(other, set),
        }
    }

    /// A proposed rule set beside the revision of it that was issued last, if any was.
    pub(crate) fn of_proposal(documents: &Documents, set: &RuleSet, by: Seq) -> Option<Self> {
        let known = documents.rule_sets.values();
        let known = known.filter(|other| other.document.name == set.name && other.by != by);
        let before = known.max_by_key(|other| other.by);
        before.map(|before| Self::new(&before.document, set))
    }
}

/// `GET /rule-sets/{name}/{revision}`. One statement beyond those of the design data.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path((name, revision)): Path<(String, String)>,
    Query(query): Query<Asked>,
) -> PageResult {
    let times = AsAtQuery {
        at: query.at,
        known: query.known,
    };
    let speaks = times.read(&state)?;
    let on = state.zone.day_of(speaks.times.effective);
    let mut view = speaks.view(&state).await?;
    let (set, by) = named(&view.documents, &name, &revision)?;
    let said = Said::of(&mut view, &[by], &state.zone).await?.remove(&by);
    let documents = &view.documents;
    let compared = match query.against.as_str() {
        "" => None,
        against => {
            let (other, _) = named(documents, &name, against)?;
            Some(Compared::new(&other, &set))
        }
    };
    let own = address::rule_set(&set.name, &set.revision);
    let others = documents.rule_sets.keys();
    let others = others.filter(|(name, revision)| *name == set.name && *revision != set.revision);
    let frame = Frame::new(&state, &signed_in);
    let speaks = PageSpeaks::new((&times, &speaks), own.clone(), WHAT);
    let may_revise = frame.holds(APPROVES) && speaks.past.is_none();
    page(&RuleSetPage {
        standing: standing(documents, &set, on).to_string(),
        entry: (address::entry(by), by.to_string()),
        said,
        head: head(&set),
        rules: rules(&set),
        others: others
            .map(|(_, revision)| {
                let fields = [
                    ("against", revision.as_str()),
                    ("at", &times.at),
                    ("known", &times.known),
                ];
                (revision.to_string(), address::with_query(&own, fields))
            })
            .collect(),
        compared,
        revise: may_revise.then(|| format!("{own}/revise")),
        proposed: false,
        name: set.name.to_string(),
        revision: set.revision.to_string(),
        speaks: Some(speaks),
        frame,
    })
}

/// `GET /approvals/{entry}/rule-set`: a rule set that is proposed, in words, beside the revision of
/// it that was issued last.
pub(crate) async fn proposed(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(text): Path<String>,
) -> PageResult {
    let number = text.parse();
    let number =
        number.map_err(|_| Unreadable::new("proposal", &text, "the number of an entry"))?;
    let not_found = || Failure::NotFound {
        what: "proposal of a rule set",
        name: text.clone(),
    };
    let mut view = state.store.view().await?;
    let kept = view.entry(Seq(number)).await?.ok_or_else(not_found)?;
    let Fact::Proposed(Proposal::RuleSet(set)) = &kept.entry.fact else {
        return Err(not_found());
    };
    page(&RuleSetPage {
        frame: Frame::new(&state, &signed_in),
        speaks: None,
        name: set.name.to_string(),
        revision: set.revision.to_string(),
        standing: "proposed".to_owned(),
        entry: (address::entry(Seq(number)), Seq(number).to_string()),
        said: Some(Said::of_entry(&kept.entry, &state.zone)),
        head: head(set),
        rules: rules(set),
        others: Vec::new(),
        compared: Compared::of_proposal(&view.documents, set, Seq(number)),
        revise: None,
        proposed: true,
    })
}
