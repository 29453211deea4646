//! All rule sets, by name and revision.

use super::{Standing, standing};
use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};

#[derive(Template)]
#[template(path = "rule_sets/list.html")]
struct RuleSetsPage {
    frame: Frame,
    speaks: PageSpeaks,
    rule_sets: Vec<Row>,
}

struct Row {
    name: String,
    revision: String,
    address: String,
    issuer: String,
    rules: usize,
    standing: String,
    in_force: bool,
    /// The entry that issued it: its address and name.
    entry: (String, String),
}

/// What the page tells of a past time, and what on it is of now all the same.
pub(super) const WHAT: (&str, &str) = ("which rule sets had been issued and were in force", "");

/// `GET /rule-sets?at=…&known=…`. No statement beyond those of the design data.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(query): Query<AsAtQuery>,
) -> PageResult {
    let speaks = query.read(&state)?;
    let view = speaks.view(&state).await?;
    let on = state.zone.day_of(speaks.times.effective);
    let speaks = PageSpeaks::new((&query, &speaks), "/rule-sets".to_owned(), WHAT);
    let documents = &view.documents;
    let rows = documents.rule_sets.values().map(|set| {
        let rules = &*set.document;
        let standing = standing(documents, rules, on);
        Row {
            name: rules.name.to_string(),
            revision: rules.revision.to_string(),
            address: speaks.at_same(&address::rule_set(&rules.name, &rules.revision)),
            issuer: rules.issuer.clone(),
            rules: rules.rules.len(),
            in_force: matches!(standing, Standing::InForce),
            standing: standing.to_string(),
            entry: (address::entry(set.by), set.by.to_string()),
        }
    });
    page(&RuleSetsPage {
        rule_sets: rows.collect(),
        speaks,
        frame: Frame::new(&state, &signed_in),
    })
}
