//! One rule set in words, alone or beside another revision of it.

use super::{named, standing};
use crate::address;
use crate::failure::Failure;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
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

/// `?against=…`: another revision.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Against {
    #[serde(default)]
    against: String,
}

#[derive(Template)]
#[template(path = "rule_sets/one.html")]
struct RuleSetPage {
    frame: Frame,
    name: String,
    revision: String,
    standing: String,
    entry: (String, String),
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

/// `GET /rule-sets/{name}/{revision}`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path((name, revision)): Path<(String, String)>,
    Query(query): Query<Against>,
) -> PageResult {
    let view = state.store.view().await?;
    let documents = &view.documents;
    let (set, by) = named(documents, &name, &revision)?;
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
    page(&RuleSetPage {
        standing: standing(documents, &set, state.today()).to_string(),
        entry: (address::entry(by), by.to_string()),
        head: head(&set),
        rules: rules(&set),
        others: others
            .map(|(_, revision)| {
                let against = address::with_query(&own, [("against", revision.as_str())]);
                (revision.to_string(), against)
            })
            .collect(),
        compared,
        revise: frame.holds(APPROVES).then(|| format!("{own}/revise")),
        proposed: false,
        name: set.name.to_string(),
        revision: set.revision.to_string(),
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
        name: set.name.to_string(),
        revision: set.revision.to_string(),
        standing: "proposed".to_owned(),
        entry: (address::entry(Seq(number)), Seq(number).to_string()),
        head: head(set),
        rules: rules(set),
        others: Vec::new(),
        compared: Compared::of_proposal(&view.documents, set, Seq(number)),
        revise: None,
        proposed: true,
    })
}
