//! Reservoirs that have no supply. Where cut-outs in force have kept them from their source, their air
//! counts as brake for as long as it lasts while it leaks away, and no longer: a pressure that nobody
//! has told is a fact that is lacking. Where something was taken out in the way, that counts from when
//! it came off. Where nobody knows when that was, where it was more than a day ago, which no air lasts,
//! or where something is missing inside an assembly, it counts for no time. What is told as emptied
//! counts at once as empty, also where the cock that was closed does not vent it or a check valve holds
//! it back: whoever says that it was emptied counts on no brake there. Only that half is believed:
//! whoever works there counts on air all the same, so that reservoirs are told as before.

use super::not_counted::{NotCounted, PressureRead, Spent};
use super::states::States;
use super::stored::StoredIn;
use super::{CutOutInTrain, Question};
use crate::braking::stored_air::time_to_leak;
use crate::circuit::state::{Marked, TrainState};
use crate::circuit::train::TrainCircuit;
use crate::configuration::car_type::PositionKind;
use crate::identity::{CarNumber, PositionCode};
use crate::isolation::CutOutState;
use crate::isolation::brake_percentage::BrakePercentage;
use crate::isolation::closing::Spot;
use crate::time::Instant;
use crate::units::{GaugePressure, Seconds};
use crate::worked::Worked;
use std::collections::BTreeSet;

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

    pub(super) fn working(self) -> String {
        let Self { from, to } = self;
        let minutes = self.time().0 / 60.0;
        format!("({from:.2} − {to:.2}) / {LEAKAGE} bar/min = {minutes:.1} min")
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
    /// All that no source feeds, whatever lives on them, where they were looked for.
    pub(super) stored: Option<Vec<StoredIn>>,
}

impl Unfed {
    /// Looks for reservoirs only where something lives on stored air that may not count.
    pub(super) fn of(question: &Question, marked: &Marked<'_>, states: &States) -> Self {
        let mut found = Self::default();
        if !question.may_leave_unfed() {
            return found;
        }
        let fading = states.fading();
        if fading.is_empty() {
            return found;
        }
        let stored = question.stored_in_state(&TrainState::new(marked.clone()));
        let lived_on = stored.iter().filter(|one| one.feeds_any(&fading));
        let lived_on: Vec<&StoredIn> = lived_on.collect();
        let counts = question.all_count(&lived_on, marked.train());
        for (one, counts) in lived_on.iter().zip(counts) {
            match counts {
                Counts::AsItIs => {}
                Counts::Until(until) => {
                    let known = found.counted_until.into_iter();
                    found.counted_until = known.chain([until]).min();
                }
                Counts::Not(why, since) => {
                    found.spent.push(Spent::of(one, why, since));
                    found.nodes.extend_from_slice(&one.feeds);
                }
            }
        }
        found.nodes.sort_unstable();
        found.nodes.dedup();
        found.stored = Some(stored);
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

/// What keeps a reservoir from every source.
#[derive(Debug, Clone, Copy)]
enum UnfedBy {
    /// Cut-outs in force, since then at the earliest.
    CutOuts(Instant),
    /// Something that was taken out then.
    TakenOut(Instant),
    /// Something that is missing, for more than a day or for nobody knows how long.
    PartMissing,
}

/// For how long the air of a reservoir counts.
enum Counts {
    AsItIs,
    Until(Instant),
    /// Why not, and since when nothing feeds it, where that is why.
    Not(NotCounted, Option<Instant>),
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

/// Until when air counts that nothing feeds since a moment; none where it does not count now any more.
fn still_lasts(stored: &StoredIn, since: Instant, now: Instant) -> Option<Instant> {
    let until = after(since, stored.lasts.map_or(Seconds(0.0), Lasts::time));
    (now < until).then_some(until)
}

impl CutOutInTrain {
    /// The earliest time at which it may have been made.
    fn earliest(&self) -> Option<Instant> {
        let since = self.since?;
        Some(since.not_before.unwrap_or(since.at))
    }
}

impl Question {
    /// Whether stored air may not count: what is told as emptied never does; by time only that does
    /// not which a cut-out in force or a missing part keeps from its source.
    pub(super) fn may_leave_unfed(&self) -> bool {
        let mut in_force = self.cars.iter().flat_map(|car| &car.cut_outs);
        let is_timed = self.way.at.is_some()
            && (self.lacks_parts() || in_force.any(|one| one.since.is_some()));
        is_timed || self.told_emptied().next().is_some()
    }

    /// Where it is recorded or supposed that what lies behind was emptied.
    fn told_emptied(&self) -> impl Iterator<Item = (&CarNumber, &PositionCode)> {
        let emptied = CutOutState::ClosedVented;
        let recorded = self.cars.iter().flat_map(move |car| {
            let told = car.cut_outs.iter().filter(move |one| {
                let stands = one.since.is_some() && one.state == emptied;
                stands && !self.supposes(&car.number, &one.position)
            });
            told.map(move |one| (&car.number, &one.position))
        });
        let supposed = self.supposed.iter();
        let supposed = supposed.filter(move |one| one.state == Some(emptied));
        recorded.chain(supposed.map(|one| (&one.at.car, &one.at.position)))
    }

    fn lacks_parts(&self) -> bool {
        self.cars.iter().any(|car| !car.vacant.is_empty())
    }

    /// For how long the air of each of some reservoirs counts. What keeps air from them is looked for
    /// only where none is told as emptied.
    fn all_count(&self, stored: &[&StoredIn], circuit: &TrainCircuit) -> Vec<Counts> {
        let emptied = |one: &StoredIn| one.supply_cut.iter().any(|spot| self.tells_emptied(spot));
        let emptied: Vec<bool> = stored.iter().map(|one| emptied(one)).collect();
        let timed = stored
            .iter()
            .zip(&emptied)
            .filter(|(_, emptied)| !**emptied);
        let timed: Vec<&StoredIn> = timed.map(|(one, _)| *one).collect();
        let mut unfed = self.unfed(&timed, circuit).into_iter();
        let counts = stored.iter().zip(emptied).map(|(one, emptied)| {
            if emptied {
                Counts::Not(NotCounted::ToldEmptied, None)
            } else {
                self.counts(one, unfed.next().flatten())
            }
        });
        counts.collect()
    }

    /// For how long the air of a reservoir counts that is not told as emptied.
    fn counts(&self, stored: &StoredIn, unfed: Option<UnfedBy>) -> Counts {
        let (Some(now), Some(unfed)) = (self.way.at, unfed) else {
            return Counts::AsItIs;
        };
        match unfed {
            UnfedBy::PartMissing => Counts::Not(NotCounted::PartMissing, None),
            UnfedBy::CutOuts(since) => match still_lasts(stored, since, now) {
                Some(until) => Counts::Until(until),
                None => Counts::Not(NotCounted::Unfed(self.pressure_read(stored)), Some(since)),
            },
            UnfedBy::TakenOut(since) => match still_lasts(stored, since, now) {
                Some(until) => Counts::Until(until),
                None => Counts::Not(NotCounted::PartTakenOut, Some(since)),
            },
        }
    }

    /// Whether what is told of a position is that what lies behind it was emptied. Of a reservoir it is
    /// told that it was drained itself.
    fn tells_emptied(&self, spot: &Spot) -> bool {
        let car = self.cars.get(spot.car);
        let position = car.and_then(|car| car.circuit.car_type().position(&spot.position));
        let shuts = position.is_some_and(|position| position.kind != PositionKind::Reservoir);
        let here = (&spot.car_number, &spot.position);
        shuts && self.told_emptied().any(|told| told == here)
    }

    /// Who confirmed that the pressure of a reservoir was read since the last of the cut-outs that keep
    /// air from it was recorded.
    fn pressure_read(&self, stored: &StoredIn) -> Option<PressureRead> {
        let recorded = stored.supply_cut.iter().filter_map(|spot| {
            let mut cut_outs = self.cars.get(spot.car)?.cut_outs.iter();
            let found = cut_outs.find(|one| one.position == spot.position)?;
            found.recorded.as_ref()
        });
        recorded.max_by_key(|one| one.by)?.pressure_read.clone()
    }

    /// What keeps each of some reservoirs from every source; none where neither a cut-out in force nor
    /// what is missing does: what is supposed counts as just done. Mostly all were made at one time and
    /// nothing is missing; else the train is looked at once more for each time, be it of a cut-out or of
    /// a removal, and for what is missing.
    fn unfed(&self, stored: &[&StoredIn], circuit: &TrainCircuit) -> Vec<Option<UnfedBy>> {
        let in_force = self.cars.iter().flat_map(|car| {
            let cut_outs = car.cut_outs.iter();
            cut_outs.filter(|one| !self.supposes(&car.number, &one.position))
        });
        let cut_out: BTreeSet<Instant> = in_force.filter_map(CutOutInTrain::earliest).collect();
        let long_ago = self.long_ago();
        let removed = self.cars.iter().flat_map(|car| car.vacated.values());
        let removed = removed.filter(|since| long_ago < **since);
        let times: BTreeSet<Instant> = cut_out.iter().chain(removed).copied().collect();
        let lacks = self.lacks_parts();
        let more = lacks || self.supposed.iter().any(|one| one.state.is_some());
        if let (1, Some(only), false) = (times.len(), times.first(), more) {
            let is_cut = |one: &&StoredIn| one.supply_cut.iter().any(|spot| self.has_cut_out(spot));
            let by = UnfedBy::CutOuts(*only);
            return stored.iter().map(|one| is_cut(one).then_some(by)).collect();
        }
        if stored.is_empty() || self.way.at.is_none() || (times.is_empty() && !lacks) {
            return vec![None; stored.len()];
        }
        // With nothing cut out or taken out of late, and with nothing missing besides.
        let before = self.as_it_was_by(Instant::EARLIEST);
        let otherwise = before.left_unfed(circuit);
        let is_so_otherwise = |one: &&StoredIn| otherwise.contains(&one.at);
        let anyhow = if lacks && stored.iter().any(is_so_otherwise) {
            before.with_all_parts().left_unfed(circuit)
        } else {
            otherwise.clone()
        };
        let since_then = !stored.iter().all(is_so_otherwise);
        let then = times.into_iter().filter(|_| since_then);
        let then = then.map(|time| (time, self.as_it_was_by(time).left_unfed(circuit)));
        let then: Vec<(Instant, Vec<Spot>)> = then.collect();
        let by = |one: &&StoredIn| {
            if anyhow.contains(&one.at) {
                return None;
            }
            if otherwise.contains(&one.at) {
                return Some(UnfedBy::PartMissing);
            }
            let mut then = then.iter().filter(|(_, unfed)| unfed.contains(&one.at));
            let (since, _) = then.next()?;
            Some(if cut_out.contains(since) {
                UnfedBy::CutOuts(*since)
            } else {
                UnfedBy::TakenOut(*since)
            })
        };
        stored.iter().map(by).collect()
    }

    /// The reservoirs that no source feeds.
    fn left_unfed(&self, circuit: &TrainCircuit) -> Vec<Spot> {
        self.reservoirs_cut_off(circuit).unwrap_or_default()
    }

    /// With everything there that is missing.
    fn with_all_parts(&self) -> Self {
        let mut then = self.clone();
        for car in &mut then.cars {
            car.vacant.clear();
        }
        then
    }

    /// Whether a position is cut out in force.
    fn has_cut_out(&self, spot: &Spot) -> bool {
        let car = self.cars.get(spot.car);
        let mut cut_outs = car.into_iter().flat_map(|car| &car.cut_outs);
        cut_outs.any(|one| one.position == spot.position && one.since.is_some())
    }

    /// What came off by then is missing for longer than any air lasts. It also bounds how often the
    /// train is looked at where much was taken out.
    fn long_ago(&self) -> Instant {
        let now = self.way.at;
        now.map_or(Instant::EARLIEST, |now| now.earlier_by_days(1))
    }

    /// With the cut-outs in force that were made by a time, without what was taken out by then, long
    /// ago or nobody knows when, and nothing supposed to be cut out.
    fn as_it_was_by(&self, time: Instant) -> Self {
        let mut then = self.clone();
        then.supposed.retain(|one| one.state.is_none());
        let by = time.max(self.long_ago());
        for car in &mut then.cars {
            let made = |one: &CutOutInTrain| one.earliest().is_some_and(|made| made <= time);
            car.cut_outs.retain(made);
            let vacated = &car.vacated;
            let gone = |place: &PositionCode| vacated.get(place).is_none_or(|since| *since <= by);
            car.vacant.retain(gone);
        }
        then
    }
}
