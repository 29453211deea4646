//! How much, how long, how often: every bound on what comes from outside.

use std::time::Duration;

/// The largest body of a request, in bytes.
pub(crate) const BODY_BYTES_MAX: usize = 64 * 1024;

/// How long a request may take.
pub(crate) const REQUEST_TIME_MAX: Duration = Duration::from_secs(30);

/// How long a browser stays signed in.
pub(crate) const SESSION_HOURS: i64 = 12;

/// The longest text typed into a search.
pub(crate) const SEARCH_CHARS_MAX: usize = 120;

/// The longest password, in bytes; longer ones only cost time.
pub(crate) const PASSWORD_BYTES_MAX: usize = 200;

/// Rows of a list that are read at once for a file.
pub(crate) const EXPORT_PAGE: usize = 2_000;

/// Pages of a list that a file holds: 100,000 rows. Longer lists end with a line that says so.
pub(crate) const EXPORT_PAGES_MAX: usize = 50;

/// Files that are made at the same time; each takes up to 30 MB.
pub(crate) const EXPORTS_AT_ONCE: usize = 2;

/// Rows of a list in one JSON answer.
pub(crate) const API_PAGE: usize = 200;

/// How much of a plain answer's text goes into a problem document, in bytes.
pub(crate) const DETAIL_BYTES_MAX: usize = 8 * 1024;
