//! The clock of the machine: the only place that asks it.

use domain::time::Instant;
use std::time::{SystemTime, UNIX_EPOCH};

/// The time now. A clock outside the years 1900 to 2199 is taken as 1970, which every check of
/// a time then refuses.
pub(crate) fn now() -> Instant {
    let since = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0, |since| since.as_micros());
    let microseconds = i64::try_from(since).unwrap_or(0);
    Instant::from_microseconds(microseconds)
        .or_else(|| Instant::from_microseconds(0))
        .unwrap_or_else(|| unreachable!("1970 is in range"))
}
