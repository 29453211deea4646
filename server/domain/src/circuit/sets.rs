//! Small sets of media, modes and impairments, one bit for each member.

use super::state::Impairment;
use super::{Medium, Mode};
use crate::isolation::CutOutState;

const _: () = assert!(Medium::ALL.len() <= 8 && Mode::ALL.len() <= 8);
const _: () = assert!(CutOutState::ALL.len() + 3 <= 16);

/// A set of media.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Media(u8);

impl Media {
    pub(crate) const NONE: Self = Self(0);
    pub(crate) const ALL: Self = Self(u8::MAX);
    /// What a reservoir can store. Pilot and cylinder pressure exist only on demand.
    pub(crate) const STORED: Self = Self::of(Medium::MainAir)
        .and(Self::of(Medium::BrakePipeAir))
        .and(Self::of(Medium::SuspensionAir))
        .and(Self::of(Medium::ParkingAir));
    /// What a closed cock can hold back and a vent can let out.
    pub(crate) const AIR: Self = Self::STORED
        .and(Self::of(Medium::PilotPressure))
        .and(Self::of(Medium::CylinderPressure));

    pub(crate) const fn of(medium: Medium) -> Self {
        Self(1 << medium as u8)
    }

    pub(crate) const fn and(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    pub(crate) const fn within(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    pub(crate) const fn without(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    pub(crate) const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Its members.
    pub(crate) fn each(self) -> impl Iterator<Item = Medium> {
        let media = Medium::ALL.iter().copied();
        media.filter(move |medium| !Self::of(*medium).within(self).is_empty())
    }
}

/// A set of modes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Modes(u8);

impl Modes {
    pub(crate) const NONE: Self = Self(0);
    pub(crate) const ALL: Self = Self(u8::MAX);

    pub(crate) const fn of(mode: Mode) -> Self {
        Self(1 << mode as u8)
    }

    pub(crate) fn of_each(modes: &[Mode]) -> Self {
        Self(modes.iter().fold(0, |set, mode| set | 1 << *mode as u8))
    }

    pub(crate) const fn meets(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }

    /// How many sets of modes there are.
    pub(crate) const SETS: usize = 1 << Mode::ALL.len();

    /// Every set, each at its place.
    pub(crate) fn every_set() -> impl Iterator<Item = Self> {
        (0..=u8::MAX).take(Self::SETS).map(Self)
    }

    /// The place of the set among all sets.
    pub(crate) const fn index(self) -> usize {
        self.0 as usize % Self::SETS
    }
}

/// A set of impairments of one position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Impairments(u16);

impl Impairments {
    pub(crate) const NONE: Self = Self(0);
    pub(crate) const VACANT: Self = Self::of(Impairment::Vacant);
    /// What leaves the place open because something is not there.
    pub(crate) const ABSENT: Self = Self::VACANT.and(Self::of(Impairment::Incomplete));
    /// What is worked out and nobody recorded.
    pub(crate) const EMPTIED: Self = Self::of(Impairment::Emptied);
    pub(crate) const BYPASSED: Self = Self::cut_out(CutOutState::Bypassed);
    /// What may leave air behind the place that nothing takes away.
    pub(crate) const TRAPPED: Self = Self::cut_out(CutOutState::ClosedTrapped)
        .and(Self::cut_out(CutOutState::ReopenedNotProven));
    pub(crate) const SUPPLY_CUT: Self = Self::cut_out(CutOutState::SupplyCut);
    /// Whatever a spring does when air returns: it is not counted to hold.
    pub(crate) const HAND_RELEASED: Self = Self::cut_out(CutOutState::ReleasedByHand)
        .and(Self::cut_out(CutOutState::ReleasedUntilAirReturns))
        .and(Self::cut_out(CutOutState::ReleasedUntilReset));
    /// What a spring was released by that may apply again by itself when air returns.
    pub(crate) const MAY_RE_ARM: Self = Self::cut_out(CutOutState::ReleasedByHand)
        .and(Self::cut_out(CutOutState::ReleasedUntilAirReturns));
    /// What opens the place to the surrounding air: nothing stays behind it.
    pub(crate) const VENTS: Self = Self::ABSENT
        .and(Self::EMPTIED)
        .and(Self::cut_out(CutOutState::ClosedVented));
    /// What stops every medium.
    pub(crate) const STOPS: Self = Self(!Self::BYPASSED.0);
    /// What leaves an actuator neither pressing nor to be relied on.
    pub(crate) const DISABLES: Self = Self::ABSENT
        .and(Self::BYPASSED)
        .and(Self::HAND_RELEASED)
        .and(Self::cut_out(CutOutState::ElectricallyOff))
        .and(Self::cut_out(CutOutState::Failed));

    pub(crate) const fn of(impairment: Impairment) -> Self {
        match impairment {
            Impairment::CutOut(state) => Self::cut_out(state),
            Impairment::Vacant => Self(1 << CutOutState::ALL.len()),
            Impairment::Incomplete => Self(2 << CutOutState::ALL.len()),
            Impairment::Emptied => Self(4 << CutOutState::ALL.len()),
        }
    }

    const fn cut_out(state: CutOutState) -> Self {
        Self(1 << state as u8)
    }

    pub(crate) const fn and(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    pub(crate) const fn meets(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }

    /// Whether all members are among those.
    pub(crate) const fn are_all_in(self, those: Self) -> bool {
        self.0 & !those.0 == 0
    }

    /// Each member.
    pub(crate) fn each(self) -> impl Iterator<Item = Impairment> {
        let states = CutOutState::ALL.iter().map(|s| Impairment::CutOut(*s));
        states
            .chain([Impairment::Vacant, Impairment::Incomplete])
            .chain([Impairment::Emptied])
            .filter(move |impairment| self.meets(Self::of(*impairment)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_incomplete_does_no_more_than_nothing_would() {
        let vacant = Impairments::VACANT;
        let incomplete = Impairments::of(Impairment::Incomplete);
        for set in [
            Impairments::ABSENT,
            Impairments::VENTS,
            Impairments::STOPS,
            Impairments::DISABLES,
            Impairments::BYPASSED,
            Impairments::TRAPPED,
            Impairments::SUPPLY_CUT,
            Impairments::HAND_RELEASED,
        ] {
            assert_eq!(incomplete.meets(set), vacant.meets(set), "{set:?}");
        }
        let both: Vec<Impairment> = Impairments::ABSENT.each().collect();
        assert_eq!(both, [Impairment::Vacant, Impairment::Incomplete]);
        assert!(incomplete.are_all_in(Impairments::ABSENT));
        assert!(!Impairments::VENTS.are_all_in(Impairments::ABSENT));
    }
}
