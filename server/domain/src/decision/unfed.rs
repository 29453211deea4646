//! Reservoirs that cut-outs in force have kept from their source. Their air counts as brake for as
//! long as it lasts while it leaks away, and no longer: a pressure that nobody has told is a fact that
//! is lacking. Whoever works there counts on air all the same, so that reservoirs are told as before.

use super::states::States;
use super::stored::StoredIn;
use super::{CutOutInTrain, Question, Supposed};
use crate::braking::stored_air::time_to_leak;
use crate::circuit::state::{Marked, TrainState};
use crate::configuration::component::PositionRef;
use crate::isolation::brake_percentage::BrakePercentage;
use crate::isolation::closing::Spot;
use crate::time::{Instant, Zone};
use crate::units::{GaugePressure, Seconds};
use crate::worked::{Source, Step, Worked};
use serde::Serialize;

/// What a reservoir is taken to lose in a minute, in bar (common practice, no source).
const LEAKAGE: f64 = 0.2;

/// From which pressure down to which the air of a reservoir counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Lasts {
    pub(super) from: GaugePressure,
    pub(super) to: GaugePressure,
}

impl Lasts {
    fn time(self) -> Seconds {
        time_to_leak(self.from, self.to, LEAKAGE).unwrap_or(Seconds(0.0))
    }

    fn working(self) -> String {
        let Self { from, to } = self;
        let minutes = self.time().0 / 60.0;
        format!("({from:.2} − {to:.2}) / {LEAKAGE} bar/min = {minutes:.1} min")
    }
}

/// A reservoir whose air is not counted: nothing feeds it for longer than that lasts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Spent {
    /// The reservoir.
    pub at: PositionRef,
    /// Since when its supply is cut, at the earliest.
    pub since: Instant,
    /// Why it is not counted, with the numbers.
    pub because: String,
}

impl Spent {
    fn of(stored: &StoredIn, since: Instant) -> Self {
        let lasts = match stored.lasts {
            Some(lasts) => lasts.working(),
            None => "from which pressure to which it would count is not known".to_owned(),
        };
        let shown = Zone::UTC.show(since);
        Self {
            at: PositionRef {
                car: stored.at.car_number.clone(),
                position: stored.at.position.clone(),
            },
            since,
            because: format!(
                "not counted: cut out since {shown}; nobody has told its pressure; taken to leak: \
                 {lasts}"
            ),
        }
    }

    fn step(&self) -> Step {
        Step {
            what: format!("stored air, car {} {}", self.at.car, self.at.position),
            working: self.because.clone(),
            source: Source::CommonPractice,
        }
    }
}

/// What is found of the reservoirs on which something lives.
#[derive(Debug, Default)]
pub(super) struct Unfed {
    /// Those that are not counted, in the order of the train.
    pub(super) spent: Vec<Spent>,
    /// The actuators and load sensors that their air reaches, ascending.
    pub(super) nodes: Vec<usize>,
    /// When the first of the others is not counted any more; none where nothing will change so.
    pub(super) counted_until: Option<Instant>,
}

impl Unfed {
    /// Looks for reservoirs only where something lives on stored air and a cut-out in force can
    /// have kept air from it.
    pub(super) fn of(question: &Question, marked: &Marked<'_>, states: &States) -> Self {
        let mut found = Self::default();
        let Some(now) = question.way.at.filter(|_| question.is_cut_out_in_force()) else {
            return found;
        };
        let fading = states.fading();
        if fading.is_empty() {
            return found;
        }
        let stored = question.stored_in_state(&TrainState::new(marked.clone()));
        let lived_on = stored.iter().filter(|one| one.feeds_any(&fading));
        let lived_on: Vec<&StoredIn> = lived_on.collect();
        let since = question.unfed_since(&lived_on);
        for (one, since) in lived_on.into_iter().zip(since) {
            let Some(since) = since else {
                continue;
            };
            let until = after(since, one.lasts.map_or(Seconds(0.0), Lasts::time));
            if until <= now {
                found.spent.push(Spent::of(one, since));
                found.nodes.extend_from_slice(&one.feeds);
            } else {
                let known = found.counted_until.into_iter();
                found.counted_until = known.chain([until]).min();
            }
        }
        found.nodes.sort_unstable();
        found.nodes.dedup();
        found
    }

    /// With a step for each reservoir that is not counted, before what is left.
    pub(super) fn told_in(&self, mut worked: Worked<BrakePercentage>) -> Worked<BrakePercentage> {
        let before = worked.steps.len().saturating_sub(2);
        let steps = self.spent.iter().map(Spent::step);
        worked.steps.splice(before..before, steps);
        worked
    }
}

/// So many seconds later, or the last moment there is.
#[expect(
    clippy::cast_possible_truncation,
    reason = "minutes, and a cast stops at the ends of the range"
)]
fn after(moment: Instant, time: Seconds) -> Instant {
    let microseconds = (time.0 * 1_000_000.0).round() as i64;
    let later = moment.microseconds().saturating_add(microseconds);
    Instant::from_microseconds(later).unwrap_or(Instant::LATEST)
}

impl CutOutInTrain {
    /// The earliest time at which it may have been made.
    fn earliest(&self) -> Option<Instant> {
        let since = self.since?;
        Some(since.not_before.unwrap_or(since.at))
    }
}

impl Question {
    fn is_cut_out_in_force(&self) -> bool {
        let mut cut_outs = self.cars.iter().flat_map(|car| &car.cut_outs);
        cut_outs.any(|one| one.since.is_some())
    }

    /// Since when cut-outs in force keep each of some reservoirs from every source, at the earliest;
    /// none where they alone do not: what is supposed counts as just done. Mostly all were made at
    /// one time; else the train is looked at once more for each.
    fn unfed_since(&self, stored: &[&StoredIn]) -> Vec<Option<Instant>> {
        let in_force = self.cars.iter().flat_map(|car| {
            let cut_outs = car.cut_outs.iter();
            cut_outs.filter(|one| !self.supposes(&car.number, &one.position))
        });
        let mut times: Vec<Instant> = in_force.filter_map(CutOutInTrain::earliest).collect();
        times.sort_unstable();
        times.dedup();
        let closes = |one: &Supposed| one.state.is_some();
        if let ([only], false) = (times.as_slice(), self.supposed.iter().any(closes)) {
            let is_cut = |one: &&StoredIn| one.supply_cut.iter().any(|spot| self.has_cut_out(spot));
            return stored
                .iter()
                .map(|one| is_cut(one).then_some(*only))
                .collect();
        }
        let unfed_by = |time: Instant| -> Vec<Spot> {
            let unfed = self.as_cut_out_by(time).stored_air().unwrap_or_default();
            unfed.into_iter().map(|one| one.at).collect()
        };
        // With nothing cut out: for another reason.
        let otherwise = unfed_by(Instant::EARLIEST);
        let unfed: Vec<(Instant, Vec<Spot>)> = times
            .into_iter()
            .map(|time| (time, unfed_by(time)))
            .collect();
        let since = |one: &&StoredIn| {
            let mut unfed = unfed.iter().filter(|(_, unfed)| unfed.contains(&one.at));
            let (first, _) = unfed.next().filter(|_| !otherwise.contains(&one.at))?;
            Some(*first)
        };
        stored.iter().map(since).collect()
    }

    /// Whether a position is cut out in force.
    fn has_cut_out(&self, spot: &Spot) -> bool {
        let car = self.cars.get(spot.car);
        let mut cut_outs = car.into_iter().flat_map(|car| &car.cut_outs);
        cut_outs.any(|one| one.position == spot.position && one.since.is_some())
    }

    /// With the cut-outs in force that were made by a time, and nothing supposed to be cut out.
    fn as_cut_out_by(&self, time: Instant) -> Self {
        let mut then = self.clone();
        then.supposed.retain(|one| one.state.is_none());
        for car in &mut then.cars {
            let made = |one: &CutOutInTrain| one.earliest().is_some_and(|made| made <= time);
            car.cut_outs.retain(made);
        }
        then
    }
}
