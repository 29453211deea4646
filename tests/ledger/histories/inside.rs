//! Where components were on cars, through all that they were inside: found hour by hour, wherever
//! anything began or ended, by going up from place to place.

use super::model::{Hour, Interval, Place};
use super::world::{self, Of};

/// A component on a car from an hour on, and to which hour.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct OnCar {
    pub(super) component: Place,
    pub(super) car: Place,
    pub(super) code: String,
    pub(super) from: Hour,
    pub(super) until: Option<Hour>,
}

fn then(intervals: &[Interval], component: Place, at: Hour) -> Option<&Interval> {
    let mut own = intervals
        .iter()
        .filter(|interval| interval.component == component);
    own.find(|interval| interval.from <= at && interval.until.is_none_or(|until| at < until))
}

/// The intervals that a component was in at an hour, from its own to that on a car, if it was
/// on one.
fn way_up(intervals: &[Interval], component: Place, at: Hour) -> Option<Vec<&Interval>> {
    let own = then(intervals, component, at)?;
    let mut way = match world::of(own.position).0 {
        Of::Car(_) => Vec::new(),
        Of::Component(above) => way_up(intervals, above, at)?,
    };
    way.insert(0, own);
    Some(way)
}

/// What a position was inside at an hour, on all levels.
pub(super) fn above(intervals: &[Interval], position: Place, at: Hour) -> Vec<Place> {
    let mut hosts = Vec::new();
    let mut next = Some(position);
    while let Some((Of::Component(host), _)) = next.map(world::of) {
        hosts.push(host);
        next = then(intervals, host, at).map(|own| own.position);
    }
    hosts
}

/// All that was inside a component at an hour.
pub(super) fn contents(intervals: &[Interval], component: Place, at: Hour) -> Vec<Place> {
    let all = 0..world::components().len();
    let inside = |one: &Place| {
        let mut next = then(intervals, *one, at);
        while let Some((Of::Component(above), _)) = next.map(|own| world::of(own.position)) {
            if above == component {
                return true;
            }
            next = then(intervals, above, at);
        }
        false
    };
    all.filter(inside).collect()
}

/// Where every component was on cars, one after the other; a stay ends where any of the intervals
/// on the way up does.
pub(super) fn on_cars(intervals: &[Interval]) -> Vec<OnCar> {
    let ends = intervals.iter().flat_map(|one| [Some(one.from), one.until]);
    let mut hours: Vec<Hour> = ends.flatten().collect();
    hours.sort_unstable();
    hours.dedup();
    let mut stays = Vec::new();
    for component in 0..world::components().len() {
        let mut before: Option<Vec<&Interval>> = None;
        for hour in &hours {
            let way = way_up(intervals, component, *hour);
            if way == before {
                continue;
            }
            if before.is_some() {
                let last: Option<&mut OnCar> = stays.last_mut();
                last.unwrap().until = Some(*hour);
            }
            if let Some(way) = &way {
                stays.push(stay(component, way, *hour));
            }
            before = way;
        }
    }
    stays
}

fn stay(component: Place, way: &[&Interval], from: Hour) -> OnCar {
    let codes = way
        .iter()
        .rev()
        .map(|interval| world::of(interval.position).1);
    let Of::Car(car) = world::of(way[way.len() - 1].position).0 else {
        unreachable!("the way up ends on a car")
    };
    OnCar {
        component,
        car,
        code: codes.collect(),
        from,
        until: None,
    }
}
