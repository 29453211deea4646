//! How much, how long, how often: every bound on what comes from outside.

use std::time::Duration;

/// The largest body of a request, in bytes.
pub(crate) const BODY_BYTES_MAX: usize = 64 * 1024;

/// The largest body that is read to its end only to tell its sender that it is too large, in bytes.
pub(crate) const HEARD_BYTES_MAX: usize = 1024 * 1024;

/// How long a request may take.
pub(crate) const REQUEST_TIME_MAX: Duration = Duration::from_secs(30);

/// The longest text typed into a search.
pub(crate) const SEARCH_CHARS_MAX: usize = 120;

/// Rows of a list that are read at once for a file.
pub(crate) const EXPORT_PAGE: usize = 2_000;

/// Pages of a list that a file holds: 100,000 rows. Longer lists end with a line that says so.
pub(crate) const EXPORT_PAGES_MAX: usize = 50;

/// Entries of the ledger in one file for a spreadsheet.
pub(crate) const ENTRIES_IN_FILE_MAX: usize = 20_000;

/// Files that are made at the same time; each takes up to 30 MB.
pub(crate) const EXPORTS_AT_ONCE: usize = 2;

/// Browsers and programs that wait for changes at the same time.
pub(crate) const WAITING_AT_ONCE: usize = 256;

/// How long one of them may wait in one request; then it asks anew.
pub(crate) const WAITING_TIME_MAX: Duration = Duration::from_mins(10);

/// How often whoever waits is told that nothing has changed, so that silence means a lost
/// connection.
pub(crate) const STILL_EVERY: Duration = Duration::from_secs(5);

/// Entries whose chain is proven, or that are written into a file, for one request.
pub(crate) const PROVEN_AT_ONCE: i64 = 50_000;

/// Trains whose pairs of failures are evaluated at the same time; each takes a core.
pub(crate) const WEAK_POINTS_AT_ONCE: usize = 1;

/// Rows of each list of weak points on a page; files hold more.
pub(crate) const WEAK_POINTS_SHOWN: usize = 40;

/// Rows of a list in one JSON answer.
pub(crate) const API_PAGE: usize = 200;
