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

/// From when on the use of a component by one meter is known without a gap. Fitments are told by
/// their places among all fitments, in order of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KnownSince {
    /// Since it came into the register, counted from nought.
    Receipt,
    /// Within this fitment, from the first reading of its car on: what the car had run when the
    /// fitment began is unknown. Counted by what the car has run.
    Within(usize),
    /// Since this fitment ended, counted from nought.
    End(usize),
}

impl KnownSince {
    /// After the last gap among fitments, of which each says whether it has ended. Of one that
    /// lasts only its beginning matters.
    pub fn last_gap(fitments: impl IntoIterator<Item = (FittedUse, Lasts)>) -> Self {
        let mut since = Self::Receipt;
        for (place, (fitment, lasts)) in fitments.into_iter().enumerate() {
            since = match (fitment.from, fitment.until, lasts) {
                (Some(_), _, Lasts::Still) => since,
                (Some(from), Some(until), Lasts::Ended) if from <= until => since,
                (None, _, Lasts::Still) | (None, Some(_), Lasts::Ended) => Self::Within(place),
                (Some(_), _, Lasts::Ended) | (None, None, Lasts::Ended) => Self::End(place),
            };
        }
        since
    }

    /// What was counted since, of the fitments up to a moment: those that had begun, each as of
    /// that moment. None where the moment lies before, or what was run until then is unknown.
    pub fn counted(self, fitments: impl IntoIterator<Item = (FittedUse, Lasts)>) -> Option<Amount> {
        let mut fitments = fitments.into_iter();
        let begins = match self {
            Self::Receipt => Amount(0),
            Self::Within(place) => fitments.nth(place)?.0.until?,
            Self::End(place) => match fitments.nth(place)?.1 {
                Lasts::Still => return None,
                Lasts::Ended => Amount(0),
            },
        };
        Some(begins + counted(fitments.map(|(fitment, _)| fitment))?)
    }
}

/// Whether a fitment has ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lasts {
    /// It lasts.
    Still,
    /// It has ended.
    Ended,
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

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

    const UNREAD_AT_FITTING: FittedUse = FittedUse {
        from: None,
        until: Some(Amount::whole(12_000)),
    };
    const UNREAD_AT_REMOVAL: FittedUse = FittedUse {
        from: Some(Amount::whole(9_000)),
        until: None,
    };

    #[test]
    fn after_a_fitting_without_a_reading_use_is_counted_by_what_the_car_has_run() {
        let lasts = [(UNREAD_AT_FITTING, Lasts::Still)];
        let since = KnownSince::last_gap(lasts);
        assert_eq!(since, KnownSince::Within(0));
        assert_eq!(since.counted(lasts), Some(Amount::whole(12_000)));
        assert_eq!(since.counted([]), None);
        let moved_on = [
            (UNREAD_AT_FITTING, Lasts::Ended),
            (fitted(500, 700), Lasts::Still),
        ];
        assert_eq!(KnownSince::last_gap(moved_on), since);
        assert_eq!(since.counted(moved_on), Some(Amount::whole(12_200)));
    }

    #[test]
    fn after_a_removal_without_a_reading_use_is_counted_from_nought() {
        let ended = [(UNREAD_AT_REMOVAL, Lasts::Ended)];
        let since = KnownSince::last_gap(ended);
        assert_eq!(since, KnownSince::End(0));
        assert_eq!(since.counted(ended), Some(Amount(0)));
        let inside = [(fitted(9_000, 9_500), Lasts::Still)];
        assert_eq!(since.counted(inside), None);
        let backwards = KnownSince::last_gap([(fitted(10, 9), Lasts::Ended)]);
        assert_eq!(backwards, KnownSince::End(0));
    }

    fn boundary() -> impl Strategy<Value = bool> {
        prop::bool::weighted(0.8)
    }

    proptest! {
        /// Between two moments a component has run what it ran in the steps between them. Each
        /// fitment is three steps long, and only what is read at its ends and inside may be told.
        #[test]
        fn what_was_run_between_two_moments_is_told_if_and_only_if_no_stretch_is_unknown(
            runs in prop::collection::vec((boundary(), boundary(), 0_i64..100, 0_i64..100), 1..6),
            earlier in 0_usize..6,
            inside in any::<bool>(),
        ) {
            let last = runs.len() - 1;
            let earlier = earlier.min(last);
            let whole = |place: usize| {
                let (from_read, until_read, before, after) = runs[place];
                let base = Amount(1_000 * i64::try_from(last - place).expect("few"));
                let amounts = [base, base + Amount(before), base + Amount(before + after)];
                (amounts, from_read, until_read)
            };
            let ended = |place: usize| {
                let ([from, _, until], from_read, until_read) = whole(place);
                let from = from_read.then_some(from);
                let until = until_read.then_some(until);
                (FittedUse { from, until }, Lasts::Ended)
            };
            let halfway = |place: usize| {
                let ([from, inside, _], from_read, _) = whole(place);
                let from = from_read.then_some(from);
                (FittedUse { from, until: Some(inside) }, Lasts::Still)
            };
            // Now is halfway through the last fitment; then is halfway through an earlier one, or
            // the moment at which it began.
            let now: Vec<_> = (0..last).map(ended).chain([halfway(last)]).collect();
            let begun = (0..earlier).map(ended);
            let then: Vec<_> = begun.chain(inside.then(|| halfway(earlier))).collect();
            let since = KnownSince::last_gap(now.iter().copied());
            let run = since.counted(now).zip(since.counted(then)).map(|(now, then)| now - then);
            let mut expected = Some(0);
            let places = runs.iter().enumerate().skip(earlier);
            for (place, &(from_read, until_read, before, after)) in places {
                let begun_before = place == earlier && inside;
                let until_now = place == last;
                let known = (from_read || begun_before) && (until_read || until_now);
                let ran = i64::from(!begun_before) * before + i64::from(!until_now) * after;
                expected = expected.filter(|_| known).map(|sum| sum + ran);
            }
            prop_assert_eq!(run, expected.map(Amount));
        }
    }
}
