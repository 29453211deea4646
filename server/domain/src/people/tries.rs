//! How long somebody waits who signed in with a wrong password: each failure doubles the wait
//! up to a bound, so that nobody is locked out for good and nobody guesses quickly.

use crate::time::Instant;

/// How much is borne with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Patience {
    /// So many failures cost no wait.
    pub free: u32,
    /// The longest wait, in seconds.
    pub longest_s: i64,
}

impl Patience {
    /// With one account.
    pub const ACCOUNT: Patience = Patience {
        free: 5,
        longest_s: 900,
    };
    /// With one client address, behind which a whole depot may sit.
    pub const CLIENT: Patience = Patience {
        free: 50,
        longest_s: 60,
    };
}

/// Failures are forgotten after so long without another, in seconds. Longer than any wait.
pub const FORGOTTEN_AFTER_S: i64 = 3_600;

/// What is known of the failures of one account or client.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tries {
    /// How many there were in a row.
    pub failures: u32,
    /// When the last was.
    pub last_at: Instant,
    /// Not before then is another looked at.
    pub open_at: Instant,
}

/// The time so many seconds after another; the same where there is none.
pub fn seconds_after(at: Instant, seconds: i64) -> Instant {
    let microseconds = seconds.saturating_mul(1_000_000);
    Instant::from_microseconds(at.microseconds().saturating_add(microseconds)).unwrap_or(at)
}

/// Counts a try as failed before it is looked at, so that many at once gain nothing; a success
/// takes it back. Refused with the time from which on a try is looked at again.
pub fn another(before: Option<Tries>, patience: Patience, now: Instant) -> Result<Tries, Instant> {
    let remembered = before.filter(|tries| now <= seconds_after(tries.last_at, FORGOTTEN_AFTER_S));
    if let Some(tries) = remembered.filter(|tries| now < tries.open_at) {
        return Err(tries.open_at);
    }
    let failures = remembered
        .map_or(0, |tries| tries.failures)
        .saturating_add(1);
    let paid = failures.saturating_sub(patience.free);
    let doubled = |times| 2_i64.checked_pow(times).unwrap_or(i64::MAX);
    let wait = paid.checked_sub(1).map_or(0, doubled);
    Ok(Tries {
        failures,
        last_at: now,
        open_at: seconds_after(now, wait.min(patience.longest_s)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn now() -> Instant {
        "2026-11-25T12:00:00Z".parse().expect("a time")
    }

    /// The waits in seconds after so many failures in a row, each as soon as it is looked at.
    fn waits(patience: Patience, count: usize) -> Vec<i64> {
        let (mut tries, mut at) = (None, now());
        let mut waits = Vec::new();
        for _ in 0..count {
            let next = another(tries, patience, at).expect("it is time");
            waits.push((next.open_at.microseconds() - at.microseconds()) / 1_000_000);
            (tries, at) = (Some(next), next.open_at);
        }
        waits
    }

    #[test]
    fn the_wait_doubles_after_the_free_failures_and_stops_growing() {
        let waits = waits(Patience::ACCOUNT, 200);
        assert_eq!(waits[..10], [0, 0, 0, 0, 0, 1, 2, 4, 8, 16]);
        assert_eq!(waits[13..16], [256, 512, 900]);
        assert_eq!(waits[15..], [900; 185][..]);
    }

    #[test]
    fn a_try_before_its_time_is_not_looked_at_and_does_not_lengthen_the_wait() {
        let open_at = seconds_after(now(), 8);
        let tries = Tries {
            failures: 9,
            last_at: now(),
            open_at,
        };
        let early = seconds_after(now(), 7);
        assert_eq!(another(Some(tries), Patience::ACCOUNT, early), Err(open_at));
        assert!(another(Some(tries), Patience::ACCOUNT, open_at).is_ok());
    }

    #[test]
    fn failures_are_forgotten() {
        let tries = Tries {
            failures: 60,
            last_at: now(),
            open_at: seconds_after(now(), 900),
        };
        let later = seconds_after(now(), FORGOTTEN_AFTER_S + 1);
        let next = another(Some(tries), Patience::ACCOUNT, later);
        assert_eq!(next.map(|next| next.failures), Ok(1));
    }

    proptest::proptest! {
        /// Nobody waits longer than the bound, whatever is kept.
        #[test]
        fn no_wait_is_longer_than_the_bound(failures: u32, free: u32) {
            let patience = Patience { free, longest_s: 900 };
            let tries = Tries { failures, last_at: now(), open_at: now() };
            let next = another(Some(tries), patience, now()).expect("it is time");
            let wait = next.open_at.microseconds() - now().microseconds();
            proptest::prop_assert!((0..=900_000_000).contains(&wait));
        }
    }
}
