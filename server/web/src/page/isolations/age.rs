//! Since when a cut-out is in force, and how long that is: the age of open cut-outs is a sign of
//! how usual isolating has become.

use domain::ledger::dossier::IsolationRecord;
use domain::time::{Instant, Zone};

/// Since when.
#[derive(Debug)]
pub(crate) struct Age {
    /// When it was found or made.
    pub(crate) since: String,
    /// How long ago.
    pub(crate) ago: String,
    /// Since when it is in the state that it is in now, where it was in another before.
    pub(crate) changed: Option<String>,
    /// When it was last seen as it should be, where nobody saw it change.
    pub(crate) not_before: Option<String>,
}

const MINUTE: i64 = 60_000_000;

/// The age of a cut-out now.
pub(crate) fn age(isolation: &IsolationRecord, zone: &Zone, now: Instant) -> Age {
    let not_before = isolation.cut_out.not_before;
    Age {
        since: zone.show(isolation.first),
        ago: ago(now.microseconds() - isolation.first.microseconds()),
        changed: (isolation.first < isolation.since).then(|| zone.show(isolation.since)),
        not_before: not_before.map(|moment| zone.show(moment)),
    }
}

/// A span in the two largest units that say something, rounded down.
fn ago(microseconds: i64) -> String {
    let minutes = microseconds.max(0) / MINUTE;
    let (hours, days) = (minutes / 60, minutes / 1440);
    match (days, hours) {
        (0, 0) => format!("{minutes} min"),
        (0, _) => format!("{hours} h {} min", minutes % 60),
        (1..=9, _) => format!("{days} d {} h", hours % 24),
        _ => format!("{days} d"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ages_are_told_in_the_two_largest_units() {
        for (minutes, expected) in [
            (-5, "0 min"),
            (59, "59 min"),
            (61, "1 h 1 min"),
            (1_439, "23 h 59 min"),
            (1_500, "1 d 1 h"),
            (20_000, "13 d"),
        ] {
            assert_eq!(ago(minutes * MINUTE), expected);
        }
    }
}
