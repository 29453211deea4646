//! Departures of a car from its baseline: what is fitted, position by position, beside what the
//! revision in force approves there. ISO 10007:2017 calls that configuration audit: an item is
//! examined to determine whether it conforms to its configuration information.
//!
//! What departs follows from what is recorded and from nothing else, not even from today: a
//! departure says from which day on and until which day it is one.

use crate::configuration::car::Car;
use crate::configuration::car_type::Position;
use crate::configuration::component::{ComponentRef, PositionRef};
use crate::configuration::concession::Allowed;
use crate::configuration::part::{StatesApproved, Vacancy, states_of};
use crate::configuration::setting::{Setting, SettingRecord, SettingStanding, SettingValue, told};
use crate::identity::{
    ConcessionNumber, ModificationState, PartNumber, PositionCode, Revision, SettingName,
};
use crate::ledger::dossier::Documents;
use crate::time::{Day, Instant, Zone};
use crate::words::word_list;
use std::collections::{BTreeMap, BTreeSet};

word_list! {
    /// How a position departs from the baseline.
    DepartureKind, "departure" {
        /// Nothing is there, and something should be.
        Vacant = "vacant",
        /// The part that is there is not approved there.
        NotApproved = "not_approved",
        /// The component that is there is in a modification state that is not approved.
        WrongState = "wrong_modification_state",
        /// It cannot be told: nothing was recorded there, or not in which modification state it is.
        Unknown = "unknown",
        /// A setting is not told: it was not recorded since what is there came there.
        SettingNotTold = "setting_not_told",
        /// A setting has another value than the one wanted.
        SettingDeviates = "setting_deviates",
        /// A setting has a value that is not allowed.
        SettingOutOfRange = "setting_out_of_range",
        /// What is there was found not serviceable.
        Unfit = "unfit",
        /// Nothing is there, inside an assembly that does not go on a car without it.
        Incomplete = "incomplete",
    }
}

word_list! {
    /// Whether a departure is allowed on a day.
    DepartureStanding, "standing of a departure" {
        /// It is not, or no longer.
        Finding = "finding",
        /// A concession in force allows it.
        UnderConcession = "under_concession",
    }
}

/// What stands at a place of a car.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stands {
    /// The component.
    pub component: ComponentRef,
    /// Its modification state, if that is known.
    pub modification: Option<ModificationState>,
    /// When it came there.
    pub since: Instant,
    /// Since when it is not serviceable, if it is not.
    pub unfit_since: Option<Instant>,
}

/// A place that departs from the baseline.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Departure {
    /// The place, by its full code.
    pub position: PositionCode,
    /// The setting that departs, where it is one.
    pub setting: Option<SettingName>,
    /// What it is set to, where that is told.
    pub set_to: Option<SettingValue>,
    /// How.
    pub kind: DepartureKind,
    /// From this day on; none where from the beginning.
    pub from: Option<Day>,
    /// Until this day, which is not included; none where it goes on.
    pub until: Option<Day>,
    /// What is there, if anything is.
    pub component: Option<ComponentRef>,
    /// The concession that is for it, or was until it ended, and its last day.
    pub concession: Option<(ConcessionNumber, Day)>,
}

/// Where on a car something that departs is to be looked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Departing {
    /// At every place.
    Anywhere,
    /// At these places and below them: whose full codes begin with one of these. None of these
    /// begins with another.
    At(BTreeSet<PositionCode>),
}

impl Departing {
    /// Adds a place.
    pub fn add(&mut self, position: &PositionCode) {
        let Self::At(places) = self else { return };
        let covers =
            |one: &PositionCode, other: &PositionCode| other.as_str().starts_with(one.as_str());
        if places.iter().any(|known| covers(known, position)) {
            return;
        }
        places.retain(|known| !covers(position, known));
        places.insert(position.clone());
    }

    /// Whether a place is among them.
    pub fn covers(&self, position: &PositionCode) -> bool {
        match self {
            Self::Anywhere => true,
            Self::At(places) => places
                .iter()
                .any(|place| position.as_str().starts_with(place.as_str())),
        }
    }
}

/// What is approved at a place.
struct Approved<'a> {
    parts: &'a [PartNumber],
    states: &'a [StatesApproved],
    vacancy: Vacancy,
}

/// What is recorded of the places of a car.
#[derive(Debug, Default)]
pub struct OnCar {
    /// What stands where, by full code.
    pub stands: BTreeMap<PositionCode, Stands>,
    /// The places of which something was ever recorded, each with the moment at which what was
    /// there last came off.
    pub told: BTreeMap<PositionCode, Option<Instant>>,
    /// The settings that were made at the places, those that are no longer told included.
    pub settings: BTreeMap<PositionCode, Vec<SettingRecord>>,
}

impl OnCar {
    /// When a place last changed: when what stands there came, or what stood there came off.
    pub fn changed(&self, position: &PositionCode) -> Option<Instant> {
        match self.stands.get(position) {
            Some(stands) => Some(stands.since),
            None => self.told.get(position).copied().flatten(),
        }
    }

    /// Whether a setting was made at a place where nothing stands now.
    pub fn has_settings_where_nothing_stands(&self) -> bool {
        let mut places = self.settings.keys();
        places.any(|place| !self.stands.contains_key(place))
    }
}

/// What departs from one revision.
struct Found {
    position: PositionCode,
    kind: DepartureKind,
    /// The setting that does.
    setting: Option<SettingName>,
    /// What that is set to, where it is told.
    set_to: Option<SettingValue>,
    /// Since when, where not from the beginning.
    since: Option<Instant>,
}

/// How a car departs from each of its revisions at some places, in their order. What is recorded
/// of other places matters only where one of these lies below them. Linear in the revisions that
/// are ever in force for it, times the places of the car.
pub fn departures(
    (documents, zone): (&Documents, &Zone),
    (car, places): (&Car, &Departing),
    on_car: &OnCar,
) -> Vec<Departure> {
    let mut all: Vec<Departure> = Vec::new();
    for period in documents.revision_periods(car) {
        for one in found(documents, car, (period.revision, on_car)) {
            if !places.covers(&one.position) {
                continue;
            }
            let Found { position, kind, .. } = one;
            let stands = on_car.stands.get(&position);
            let from = period.from.max(one.since.map(|since| zone.day_of(since)));
            if from.is_some_and(|from| period.until.is_some_and(|until| until <= from)) {
                continue;
            }
            let concession = allowable(kind, stands, one.setting.as_ref()).and_then(|what| {
                let at = PositionRef {
                    car: car.number.clone(),
                    position: position.clone(),
                };
                let known = documents.concession_for((&what, one.set_to.as_ref()), &at)?;
                Some((known.granted.number.clone(), known.until()))
            });
            all.push(Departure {
                concession,
                position,
                setting: one.setting,
                set_to: one.set_to,
                from,
                until: period.until,
                kind,
                component: stands.map(|stands| stands.component.clone()),
            });
        }
    }
    all.sort();
    all.dedup_by(|next, last| goes_on(last, next));
    all
}

/// What a concession could allow of a departure: what is there, or that a setting is otherwise;
/// not that nothing is there or what is there is not serviceable, nor that something is not known.
fn allowable(
    kind: DepartureKind,
    stands: Option<&Stands>,
    setting: Option<&SettingName>,
) -> Option<Allowed> {
    match kind {
        DepartureKind::NotApproved | DepartureKind::WrongState => {
            Some(Allowed::Part(stands?.component.part.clone()))
        }
        DepartureKind::SettingDeviates => Some(Allowed::Setting(setting?.clone())),
        DepartureKind::SettingOutOfRange => Some(Allowed::SettingOutOfRange(setting?.clone())),
        DepartureKind::Vacant
        | DepartureKind::Unknown
        | DepartureKind::SettingNotTold
        | DepartureKind::Unfit
        | DepartureKind::Incomplete => None,
    }
}

/// Whether a departure is the same as the one before it and goes on where that ends, which then
/// lasts as long as both.
fn goes_on(last: &mut Departure, next: &Departure) -> bool {
    let same = last.position == next.position
        && (&last.setting, &last.set_to) == (&next.setting, &next.set_to)
        && last.kind == next.kind
        && last.component == next.component
        && last.until.is_some()
        && last.until == next.from;
    if same {
        last.until = next.until;
    }
    same
}

/// The places that depart from a revision. A revision that is not in the register tells nothing
/// of any place, so that each is unknown.
fn found(documents: &Documents, car: &Car, (revision, on_car): (&Revision, &OnCar)) -> Vec<Found> {
    let OnCar { stands, told, .. } = on_car;
    let asked = asked(documents, car, (revision, on_car));
    let mut found = Vec::new();
    for (code, approved) in &asked {
        let kind = match stands.get(code) {
            None if approved.vacancy == Vacancy::Forbidden => Some(DepartureKind::Incomplete),
            None if told.contains_key(code) => Some(DepartureKind::Vacant),
            None => Some(DepartureKind::Unknown),
            Some(stands) => departs(stands, approved),
        };
        found.extend(kind.map(|kind| (code, kind)));
    }
    let unasked = stands.keys().filter(|code| !asked.contains_key(code));
    found.extend(unasked.map(|code| (code, DepartureKind::NotApproved)));
    let parts = found.into_iter().map(|(position, kind)| Found {
        position: position.clone(),
        kind,
        setting: None,
        set_to: None,
        since: on_car.changed(position),
    });
    let mut all: Vec<Found> = parts.chain(unfit(on_car)).collect();
    if let Some(design) = documents.design(&car.car_type, revision) {
        // Where something is missing, that is the departure: nothing is there to be set.
        let missing = |code| asked.contains_key(code) && !stands.contains_key(code);
        let places = design.document.positions.iter();
        let places = places.filter(|position| !missing(&position.code));
        all.extend(places.flat_map(|position| settings_found(position, on_car)));
    }
    all
}

/// The places where what stands there is not serviceable, whatever the revision approves.
fn unfit(on_car: &OnCar) -> impl Iterator<Item = Found> {
    let stands = on_car.stands.iter();
    stands.filter_map(|(position, stands)| {
        Some(Found {
            position: position.clone(),
            kind: DepartureKind::Unfit,
            setting: None,
            set_to: None,
            since: Some(stands.unfit_since?),
        })
    })
}

/// The settings of a position that depart.
fn settings_found(position: &Position, on_car: &OnCar) -> Vec<Found> {
    let made = on_car.settings.get(&position.code);
    let changed = on_car.changed(&position.code);
    let departs = |setting: &Setting| {
        let made = made.into_iter().flatten();
        let told = told(made, setting.name(), (changed, Instant::LATEST));
        let (kind, since) = match setting.standing(told) {
            SettingStanding::AsWanted(_) => return None,
            SettingStanding::Deviates(told) => (DepartureKind::SettingDeviates, Some(told.since)),
            SettingStanding::OutOfRange(told) => {
                (DepartureKind::SettingOutOfRange, Some(told.since))
            }
            SettingStanding::NotTold => (DepartureKind::SettingNotTold, changed),
        };
        Some(Found {
            position: position.code.clone(),
            kind,
            setting: Some(setting.name().clone()),
            set_to: told.map(|told| told.made.value.clone()),
            since,
        })
    };
    position.settings.iter().filter_map(departs).collect()
}

/// What a revision asks for at the places of a car: at its own positions, and at those of the
/// assemblies that are on it. Where no part is approved, nothing is asked for.
fn asked<'a>(
    documents: &'a Documents,
    car: &Car,
    (revision, on_car): (&Revision, &OnCar),
) -> BTreeMap<PositionCode, Approved<'a>> {
    let design = documents.design(&car.car_type, revision);
    let own = design.iter().flat_map(|design| &design.document.positions);
    let own = own.map(|position| {
        let (parts, states) = (&*position.approved, &*position.states);
        let vacancy = Vacancy::Finding;
        let approved = Approved {
            parts,
            states,
            vacancy,
        };
        (position.code.clone(), approved)
    });
    let inner = on_car.stands.iter().flat_map(|(code, stands)| {
        let part = documents.part(&stands.component.part);
        let positions = part.into_iter().flat_map(|part| &part.positions);
        positions.filter_map(move |position| {
            let (parts, states) = (&*position.approved, &*position.states);
            let code = code.followed_by(&position.code)?;
            let vacancy = position.vacancy;
            let approved = Approved {
                parts,
                states,
                vacancy,
            };
            Some((code, approved))
        })
    });
    let all = own.chain(inner);
    all.filter(|(_, approved)| !approved.parts.is_empty())
        .collect()
}

fn departs(stands: &Stands, approved: &Approved<'_>) -> Option<DepartureKind> {
    let part = &stands.component.part;
    if !approved.parts.contains(part) {
        return Some(DepartureKind::NotApproved);
    }
    let states = states_of(approved.states, part)?;
    match &stands.modification {
        None => Some(DepartureKind::Unknown),
        Some(state) if states.contains(state) => None,
        Some(_) => Some(DepartureKind::WrongState),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn code(text: &str) -> PositionCode {
        text.parse().expect("a position code")
    }

    #[test]
    fn a_place_stands_for_all_below_it() {
        let mut places = Departing::At(BTreeSet::new());
        for text in ["=B1-K1-Q1", "=B1-K2", "=B1-K1", "=B1-K1-Q2"] {
            places.add(&code(text));
        }
        let kept = BTreeSet::from([code("=B1-K1"), code("=B1-K2")]);
        assert_eq!(places, Departing::At(kept));
        assert!(places.covers(&code("=B1-K2-Q1")) && !places.covers(&code("=B1")));
        let mut anywhere = Departing::Anywhere;
        anywhere.add(&code("=B1"));
        assert_eq!(anywhere, Departing::Anywhere);
    }
}
