//! What is warned of beside verdicts.

use crate::words::word_list;

word_list! {
    /// What is warned of, in the order in which it is told.
    WarningKind, "warning" {
        /// Brakes are on, or may be, with nothing commanded.
        Drags = "drags",
        /// The same once stored air is used up.
        DragsLater = "drags_later",
        /// Brakes might drag and were seen free.
        SeenFree = "seen_free",
        /// Springs released by hand may have applied again by themselves, since air came back to them.
        ReArmed = "re_armed",
        /// Stored air is not counted, since nothing feeds it for longer than it lasts or it is told as
        /// let out.
        AirNotCounted = "air_not_counted",
        /// Nothing is fitted where something belongs.
        Vacant = "vacant",
        /// Assemblies lack something that they need.
        Incomplete = "incomplete",
        /// Components were found unfit where they are fitted.
        Unfit = "unfit",
        /// A test of a car was failed, and not passed since.
        FailedTest = "failed_test",
        /// Work on a car is due at once, since something was touched and it was not done since.
        DueAtOnce = "due_at_once",
        /// Work on a component that is fitted is due at once, since it failed.
        DueAtOnceFitted = "due_at_once_fitted",
        /// Work on a car is overdue.
        Overdue = "overdue",
        /// Whether work on a car was overdue was not looked at.
        OverdueUnknown = "overdue_unknown",
        /// Components on the cars are to be judged again.
        JudgeAgain = "judge_again",
        /// A car runs under a concession, with what was agreed with it.
        Concession = "concession",
        /// A car departs from its baseline with no concession.
        Departs = "departs",
        /// Nothing is known of the brake percentage.
        PercentageUnknown = "percentage_unknown",
        /// Brakes work in service or in emergency braking, and not in the other.
        OneModeOnly = "one_mode_only",
        /// The brake percentage falls once stored air is used up.
        Fades = "fades",
        /// The springs hold the standing train on less of a gradient.
        HoldsLess = "holds_less",
        /// Another place of command reaches other brakes.
        OtherCab = "other_cab",
        /// Axles ask more of the rail than their car type allows.
        Adhesion = "adhesion",
        /// Discs or wheels take more heat than their car type allows.
        Heat = "heat",
        /// A load signal is lost.
        LoadSignal = "load_signal",
        /// The air suspension is lost.
        Suspension = "suspension",
        /// Axles have no protection against sliding.
        SlideProtection = "slide_protection",
    }
}

impl WarningKind {
    /// Whether it speaks of overdue work, of which more stands on the due lists of the cars.
    pub const fn is_of_overdue_work(self) -> bool {
        matches!(self, Self::Overdue | Self::OverdueUnknown)
    }

    /// Whether a decision keeps it by itself, in one line, since it is not looked at of a past time: so it
    /// is no part of what is compared when a decision is found again.
    pub(super) const fn is_kept_by_itself(self) -> bool {
        matches!(
            self,
            Self::DueAtOnceFitted | Self::Overdue | Self::OverdueUnknown | Self::JudgeAgain
        )
    }
}
