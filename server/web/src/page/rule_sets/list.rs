//! All rule sets, by name and revision.

use super::{Standing, standing};
use crate::address;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::State;

#[derive(Template)]
#[template(path = "rule_sets/list.html")]
struct RuleSetsPage {
    frame: Frame,
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

/// `GET /rule-sets`. No statement beyond those of the design data.
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    let view = state.store.view().await?;
    let documents = &view.documents;
    let rows = documents.rule_sets.values().map(|set| {
        let rules = &*set.document;
        let standing = standing(documents, rules, state.today());
        Row {
            name: rules.name.to_string(),
            revision: rules.revision.to_string(),
            address: address::rule_set(&rules.name, &rules.revision),
            issuer: rules.issuer.clone(),
            rules: rules.rules.len(),
            in_force: matches!(standing, Standing::InForce),
            standing: standing.to_string(),
            entry: (address::entry(set.by), set.by.to_string()),
        }
    });
    page(&RuleSetsPage {
        rule_sets: rows.collect(),
        frame: Frame::new(&state, &signed_in),
    })
}
