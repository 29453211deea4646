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
