//! Reservoirs whose air is not counted as brake, and why, in words.

use super::stored::StoredIn;
use crate::configuration::component::PositionRef;
use crate::identity::{CarNumber, PersonName};
use crate::time::{Instant, Zone};
use crate::worked::{Source, Step};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Who confirmed that the pressure of a reservoir was read, and when. What it was is not told.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct PressureRead {
    /// When.
    pub at: Instant,
    /// Who.
    pub by: PersonName,
}

/// Why the air of a reservoir is not counted.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NotCounted {
    /// What lies behind a cut-out in its way is told as emptied.
    ToldEmptied,
    /// Something is missing between it and its source, for more than a day or for nobody knows how
    /// long.
    PartMissing,
    /// Something between it and its source was taken out, for longer ago than its air lasts.
    PartTakenOut,
    /// Cut-outs keep its source from it for longer than its air lasts; who read its pressure since.
    Unfed(Option<PressureRead>),
}

impl NotCounted {
    fn words(&self, since: &str) -> String {
        match self {
            Self::ToldEmptied => "what lies behind the closed cock is told as emptied".to_owned(),
            Self::PartMissing => {
                "a component is missing between it and its source, for more than a \
                                  day or for nobody knows how long"
                    .to_owned()
            }
            Self::PartTakenOut => format!(
                "a component between it and its source was taken out, and nothing feeds it since \
                 {since}; nobody has told its pressure"
            ),
            Self::Unfed(None) => {
                format!("cut out since {since}; nobody has told its pressure")
            }
            Self::Unfed(Some(PressureRead { at, by })) => {
                let at = Zone::UTC.show(*at);
                format!(
                    "cut out since {since}; its pressure was read by {by} on {at}, and what it was \
                     is not kept"
                )
            }
        }
    }
}

/// A reservoir whose air is not counted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Spent {
    /// The reservoir.
    pub at: PositionRef,
    /// Since when nothing feeds it, at the earliest; none where that is not what it is for, or not
    /// known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub since: Option<Instant>,
    /// Why it is not counted.
    pub why: NotCounted,
    /// The same with the numbers.
    pub because: String,
}

impl Spent {
    pub(super) fn of(stored: &StoredIn, why: NotCounted, since: Option<Instant>) -> Self {
        let shown = since.map_or(String::new(), |since| Zone::UTC.show(since));
        let words = why.words(&shown);
        let leaks = since.map_or(String::new(), |_| match stored.lasts {
            Some(lasts) => format!("; taken to leak: {}", lasts.working()),
            None => "; taken to leak: from which pressure to which it would count is not known"
                .to_owned(),
        });
        Self {
            at: PositionRef {
                car: stored.at.car_number.clone(),
                position: stored.at.position.clone(),
            },
            since,
            why,
            because: format!("not counted: {words}{leaks}"),
        }
    }

    /// That it is not counted, in a few words, with what is told of it.
    pub fn in_short(&self) -> String {
        let told = match &self.why {
            NotCounted::ToldEmptied => "told as emptied: ".to_owned(),
            NotCounted::PartMissing | NotCounted::PartTakenOut => {
                "a component in its way is missing: ".to_owned()
            }
            NotCounted::Unfed(None) => String::new(),
            NotCounted::Unfed(Some(PressureRead { at, by })) => {
                let at = Zone::UTC.show(*at);
                format!("its pressure was read by {by} on {at}: ")
            }
        };
        format!("{told}not counted as brake any more")
    }

    /// As a step to what is left.
    pub(super) fn step(&self) -> Step {
        Step {
            what: format!("stored air, car {} {}", self.at.car, self.at.position),
            working: self.because.clone(),
            source: Source::CommonPractice,
        }
    }
}

/// Until when stored air counts as brake, and what follows then.
pub fn counted_until(until: Instant, zone: &Zone) -> String {
    let until = zone.show(until);
    format!(
        "Stored air is counted as brake until {until}: from then on what lives on it counts as used \
         up, and a decision that counted it is void."
    )
}

/// "Stored air is not counted (cut out since …; nobody has told its pressure): car 3 =S-R1.", for each
/// reason one; what tells places is given.
pub(super) fn in_words(
    spent: &[Spent],
    listed: impl Fn(&BTreeSet<(CarNumber, String)>) -> String,
) -> Option<String> {
    let mut reasons: BTreeMap<&NotCounted, Vec<&Spent>> = BTreeMap::new();
    for one in spent {
        reasons.entry(&one.why).or_default().push(one);
    }
    let told = reasons.into_iter().map(|(why, group)| {
        let first = group.iter().filter_map(|one| one.since).min();
        let or_later = if group.iter().all(|one| one.since == first) {
            ""
        } else {
            " or later"
        };
        let since = first.map_or(String::new(), |first| {
            format!("{}{or_later}", Zone::UTC.show(first))
        });
        let places = group.iter();
        let places = places.map(|one| (one.at.car.clone(), one.at.position.to_string()));
        let (why, places) = (why.words(&since), listed(&places.collect()));
        format!("Stored air is not counted ({why}): {places}.")
    });
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| told.join(" "))
}
