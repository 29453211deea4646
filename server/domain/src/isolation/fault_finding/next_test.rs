//! Where to look next: the place that leaves the fewest faults, whatever it shows; and after those,
//! where one of both leaves fewer.

use super::super::observed::{
    BothWays, Charge, During, LookedAt, Place, Seen, Watched, braked_bogies,
};
use super::{Observation, Supposed, agreeing, blocks};
use crate::circuit::scenarios::Lanes;
use crate::circuit::train::TrainCircuit;
use crate::configuration::car_type::PositionKind;
use serde::Serialize;

/// How many places are proposed.
const PROPOSED: usize = 5;

/// Somewhere to look, and what is left of the suspected faults by what it shows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NextTest {
    /// Where.
    pub at: LookedAt,
    /// What the brake must be doing.
    pub during: During,
    /// What may be seen: pressure at a position, braking at a bogie.
    pub seen: Seen,
    /// How many faults are left when that is seen.
    pub left_if_seen: usize,
    /// How many are left when it is not.
    pub left_if_not: usize,
}

/// The places that tell most of some states apart. Test points, gauges, sensors and bogies are
/// tried in each state of the brake, but for what was looked at already.
pub(super) fn next_tests(
    train: &TrainCircuit,
    watched: &Watched<'_>,
    states: &[Supposed],
    (looked_at, observations): (&[(Place, During, Charge)], &[Observation]),
) -> Vec<NextTest> {
    if states.len() < 2 {
        return Vec::new();
    }
    let places = places(train, looked_at);
    let mut left = vec![(0, 0); places.len()];
    for block in blocks(states) {
        let lanes = Lanes::first(block.len());
        let agreeing = agreeing(&Supposed::show(block, watched, looked_at), observations);
        let count = |shows: BothWays<Lanes>| {
            let [one, other] = [0, 1].map(|way| shows[way].within(agreeing[way]));
            one.and(other).within(lanes).count()
        };
        let shown = Supposed::show(block, watched, &places);
        for ((place, left), shown) in places.iter().zip(&mut left).zip(shown) {
            let seen = question(&place.0);
            left.0 += count(shown.shows(seen));
            left.1 += count(shown.shows(seen.otherwise()));
        }
    }
    let mut tests: Vec<(usize, usize)> = left
        .iter()
        .enumerate()
        // What can be seen one way only tells nothing; a brake that may stay on can be seen both ways.
        .filter(|(_, (seen, not))| {
            let (least, most) = (seen.min(not), seen.max(not));
            *most < states.len() || (0 < *least && *least < states.len())
        })
        .map(|(at, (seen, not))| (at, *seen.max(not)))
        .collect();
    tests.sort_by_key(|(at, most)| (*most, left[*at].0 + left[*at].1, *at));
    let test = |(at, _): (usize, usize)| {
        let (place, during, _) = &places[at];
        Some(NextTest {
            at: LookedAt::of(train, place)?,
            during: *during,
            seen: question(place),
            left_if_seen: left[at].0,
            left_if_not: left[at].1,
        })
    };
    tests.into_iter().filter_map(test).take(PROPOSED).collect()
}

/// What is looked for at a place.
fn question(place: &Place) -> Seen {
    match place {
        Place::Node(_) => Seen::Pressure,
        Place::Bogie(..) => Seen::Braking,
    }
}

fn places(
    train: &TrainCircuit,
    looked_at: &[(Place, During, Charge)],
) -> Vec<(Place, During, Charge)> {
    let shows = |node: &usize| {
        matches!(
            train.kind(*node),
            Some(
                PositionKind::TestPoint
                    | PositionKind::Gauge
                    | PositionKind::PressureSensor
                    | PositionKind::PressureSwitch
            )
        )
    };
    let charge = looked_at
        .first()
        .map_or(Charge::Full, |(_, _, charge)| *charge);
    let nodes = (0..train.roles().len()).filter(shows).map(Place::Node);
    let bogies = braked_bogies(train).into_iter();
    let bogies = bogies.map(|(car, bogie)| Place::Bogie(car, bogie));
    let places: Vec<Place> = nodes.chain(bogies).collect();
    let each = places.into_iter().flat_map(|place| {
        let during = During::ALL.iter();
        during.map(move |during| (place.clone(), *during, charge))
    });
    each.filter(|place| !looked_at.contains(place)).collect()
}
