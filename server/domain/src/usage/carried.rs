//! What a component has run: counted while it was fitted, and brought with it.

use crate::units::Amount;

/// A fitment as one meter of the host car saw it: the car's use when it began, and when it
/// ended or now. `None` where the car's use was unknown then, as before its first reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FittedUse {
    /// The car's use when the fitment began.
    pub from: Option<Amount>,
    /// The car's use when the fitment ended; while it lasts, the car's use now.
    pub until: Option<Amount>,
}

/// What the register has counted for a component by one meter: the sum over its fitments.
/// Unknown as soon as one boundary is, or runs backwards. Linear in the fitments.
pub fn counted(fitments: impl IntoIterator<Item = FittedUse>) -> Option<Amount> {
    fitments.into_iter().try_fold(Amount(0), |sum, fitment| {
        let run = fitment.until? - fitment.from?;
        (Amount(0) <= run).then_some(sum + run)
    })
}

/// What a component has run in its whole life: what it brought with it when it was received,
/// and what was counted since. Unknown unless both are known.
pub fn total(brought_in: Option<Amount>, counted: Option<Amount>) -> Option<Amount> {
    Some(brought_in? + counted?)
}

/// How far the host car's use is ahead of what was counted for the component, from both at the
/// moment of fitting. It stays the same for as long as the fitment lasts: the component's
/// counted use is the car's less this, and a point of the component's use is reached when the
/// car's reaches the point plus this.
pub fn ahead(host_at_fitting: Option<Amount>, counted_before: Option<Amount>) -> Option<Amount> {
    Some(host_at_fitting? - counted_before?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fitted(from: i64, until: i64) -> FittedUse {
        FittedUse {
            from: Some(Amount::whole(from)),
            until: Some(Amount::whole(until)),
        }
    }

    #[test]
    fn use_is_carried_from_car_to_car() {
        // Removal less fitting, summed over the cars; model: 14 CFR 43.10(a), life status.
        let counted = counted([fitted(10_000, 60_000), fitted(900_000, 900_500)]);
        assert_eq!(counted, Some(Amount::whole(50_500)));
        let total = total(Some(Amount::whole(120_000)), counted);
        assert_eq!(total, Some(Amount::whole(170_500)));
    }

    #[test]
    fn an_unknown_boundary_leaves_the_use_unknown_rather_than_nothing() {
        let unread = FittedUse {
            from: None,
            until: Some(Amount::whole(5)),
        };
        assert_eq!(counted([fitted(0, 10), unread]), None);
        assert_eq!(counted([fitted(10, 9)]), None);
        assert_eq!(counted([]), Some(Amount(0)));
        assert_eq!(total(None, Some(Amount(1))), None);
    }

    #[test]
    fn the_distance_ahead_turns_a_components_use_into_the_hosts() {
        let counted_before = counted([fitted(10_000, 60_000)]);
        let ahead = ahead(Some(Amount::whole(900_000)), counted_before).expect("both known");
        let host_now = Amount::whole(900_500);
        let counted_now = counted([fitted(10_000, 60_000), fitted(900_000, 900_500)]);
        assert_eq!(Some(host_now - ahead), counted_now);
    }
}
