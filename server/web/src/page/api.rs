//! The page that tells people how programs talk to the register.

use crate::api::problem::{KINDS, MEDIA_TYPE};
use crate::api::{DOCUMENT, DOCUMENT_PATH};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::State;
use utoipa::openapi::path::{Operation, PathItem};

#[derive(Template)]
#[template(path = "api/api.html")]
struct ApiPage {
    frame: Frame,
    document: &'static str,
    media_type: &'static str,
    operations: Vec<Line>,
    problems: [(&'static str, &'static str, &'static str); 8],
}

/// What can be asked for.
struct Line {
    method: &'static str,
    path: &'static str,
    summary: &'static str,
    /// Whether it can be asked for as it stands.
    is_link: bool,
}

/// `GET /api`
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    page(&ApiPage {
        frame: Frame::new(&state, &signed_in),
        document: DOCUMENT_PATH,
        media_type: MEDIA_TYPE,
        operations: operations(),
        problems: KINDS,
    })
}

fn operations() -> Vec<Line> {
    let paths = &DOCUMENT.paths.paths;
    let lines = paths.iter().flat_map(|(path, item)| {
        of_path(item).map(move |(method, operation)| Line {
            method,
            path,
            summary: operation.summary.as_deref().unwrap_or_default(),
            is_link: method == "GET" && !path.contains('{'),
        })
    });
    lines.collect()
}

fn of_path(item: &'static PathItem) -> impl Iterator<Item = (&'static str, &'static Operation)> {
    let operations = [("GET", &item.get), ("POST", &item.post)];
    operations
        .into_iter()
        .filter_map(|(method, operation)| Some((method, operation.as_ref()?)))
}
