//! What a component has run, as due points count it: since its receipt, or since the last
//! stretch of its life of which that is unknown.

use crate::due::facts::{MeterFacts, Scale, ScaleBegins};
use crate::ledger::dossier::{Fitment, MeterValues};
use crate::ledger::standing::ComponentHistory;
use crate::time::{Instant, Zone};
use crate::units::{Amount, ByMeter, Meter};
use crate::usage::carried::{FittedUse, KnownSince, Lasts};

impl KnownSince {
    /// The scale of what is counted since, of a component by itself.
    pub(super) fn own_scale(self) -> Scale {
        let begins = match self {
            Self::Receipt => ScaleBegins::WithItsLife,
            Self::Within(_) | Self::End(_) => ScaleBegins::AfterAGap,
        };
        Scale {
            begins,
            ..Scale::OWN
        }
    }
}

impl ComponentHistory<'_> {
    /// From when on its use is known without a gap, of all that was until a moment. Linear in its
    /// fitments.
    pub(super) fn known_since(&self, at: Instant) -> ByMeter<KnownSince> {
        ByMeter::from_fn(|meter| KnownSince::last_gap(self.until_moment((at, None), meter)))
    }

    /// What was counted for the component up to a moment since its use is known, given what the
    /// car it is on then had run. Linear in its fitments.
    pub(super) fn counted_until(
        &self,
        known: &ByMeter<KnownSince>,
        at: Instant,
        host: &MeterValues,
    ) -> ByMeter<Option<Amount>> {
        ByMeter::from_fn(|meter| known[meter].counted(self.until_moment((at, host[meter]), meter)))
    }

    /// The fitments as of a moment, at which the car had run so much.
    fn until_moment(
        &self,
        (at, host): (Instant, Option<Amount>),
        meter: Meter,
    ) -> impl Iterator<Item = (FittedUse, Lasts)> {
        let begun = self.fitments.iter().filter(move |it| it.from < at);
        begun.map(move |fitment| {
            let (until, lasts) = match &fitment.end {
                Some(end) if end.at <= at => (fitment.meters_until[meter], Lasts::Ended),
                _ => (host, Lasts::Still),
            };
            let from = fitment.meters_from[meter];
            (FittedUse { from, until }, lasts)
        })
    }

    /// The scale of its use while a fitment lasts. One that began without a reading is what it is
    /// counted by.
    pub(super) fn scale_on(
        &self,
        fitment: &Fitment,
        known: &ByMeter<KnownSince>,
    ) -> ByMeter<Scale> {
        let before = self.counted_until(known, fitment.from, &fitment.meters_from);
        ByMeter::from_fn(|meter| {
            let ahead = fitment.meters_from[meter].zip(before[meter]);
            let ahead = ahead.map_or(Amount(0), |(host, counted)| host - counted);
            let begins = known[meter].own_scale().begins;
            Scale { ahead, begins }
        })
    }

    /// A component on no car runs no further. Inside an assembly it came to rest when that left
    /// the car.
    pub(super) fn at_rest(&self, known: &ByMeter<KnownSince>, zone: &Zone) -> ByMeter<MeterFacts> {
        let ends = self
            .fitments
            .iter()
            .filter_map(|fitment| fitment.end.as_ref());
        let since = ends
            .map(|end| end.at)
            .max()
            .map_or(self.record.since, |at| at.max(self.record.since));
        let counted = self.counted_until(known, since, &MeterValues::default());
        ByMeter::from_fn(|meter| {
            counted[meter].map_or(MeterFacts::UNKNOWN, |counted| {
                MeterFacts::at_rest(counted, zone.day_of(since))
            })
        })
    }
}
