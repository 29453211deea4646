//! The style sheet and scripts, built into the executable; their addresses change with their
//! contents, so that browsers may keep them for ever.

use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use rust_embed::RustEmbed;
use std::fmt::Write as _;

#[derive(RustEmbed)]
#[folder = "../../static"]
#[include = "*.css"]
#[include = "*.js"]
#[include = "*.svg"]
struct Assets;

/// The address of a file in `static/`. A file that does not exist gets an address that answers
/// 404; a test asks for each.
pub(crate) fn address(name: &str) -> String {
    let mut address = format!("/static/{name}?v=");
    if let Some(file) = Assets::get(name) {
        for byte in &file.metadata.sha256_hash()[..6] {
            // Writing to a text cannot fail.
            let _ = write!(address, "{byte:02x}");
        }
    }
    address
}

/// Answers with a file.
pub(crate) async fn serve(Path(name): Path<String>) -> Response {
    let Some(file) = Assets::get(&name) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    let kind = match name.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        _ => "image/svg+xml",
    };
    let headers = [
        (header::CONTENT_TYPE, kind),
        (header::CACHE_CONTROL, "public, max-age=31536000, immutable"),
    ];
    (headers, file.data).into_response()
}
