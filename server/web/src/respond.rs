//! Answers: a page from its template.

use crate::failure::Failure;
use askama::Template;
use axum::response::{Html, IntoResponse, Response};

/// What a handler of a page returns.
pub(crate) type PageResult = Result<Response, Failure>;

/// Renders a page.
pub(crate) fn page<T: Template>(template: &T) -> PageResult {
    Ok(Html(template.render()?).into_response())
}
