//! Which reservoirs are read after a cut-out. What works now and not once stored air is used up is
//! counted on air that nobody has measured since its supply was lost, however that came about.

use super::Question;
use super::checks::{Check, CheckKind, Place};
use super::joined::{joined, named, place_of};
use super::stored::StoredIn;
use crate::configuration::car_type::Position;
use crate::isolation::closing::Spot;
use crate::worked::Source;
use std::collections::BTreeSet;

/// One check for all reservoirs that cut-outs leave to themselves and on which something lives that
/// fades: `fading` are its nodes, ascending (common practice, no source).
pub(super) fn pressures_read(
    question: &Question,
    places: &[Place<'_>],
    (stored, fading): (&[StoredIn], &[usize]),
) -> Vec<Check> {
    let lived_on = stored.iter().filter(|one| one.feeds_any(fading));
    let each = lived_on.map(|one| {
        let cut = one.supply_cut.iter();
        let of: BTreeSet<usize> = cut
            .filter_map(|spot| place_of(places, spot.car, &spot.position))
            .collect();
        // What is missing or was never there leaves no cut-out to name: then it is for all.
        let all = || (0..places.len()).collect();
        (if of.is_empty() { all() } else { of }, one)
    });
    let checks = joined(each).into_iter().map(|group| {
        let read: Vec<String> = group.all.iter().map(|one| read(question, one)).collect();
        Check {
            kind: CheckKind::PressureRead,
            of: named(places, &group.of),
            text: format!(
                "Brakes are counted on stored air that nothing fills up any more. {} It leaks, so \
                 read it again before each start.",
                read.join(" ")
            ),
            source: Source::CommonPractice,
        }
    });
    checks.collect()
}

/// "Car 3, reservoir =S-R1: read its pressure at =S-T1: … bar; it is counted from 8.50 bar upward
/// only."
fn read(question: &Question, stored: &StoredIn) -> String {
    let read = match stored.read_at.as_slice() {
        [] => {
            "no test point and no gauge is on it, so read its pressure another way or count it as \
               empty"
                .to_owned()
        }
        spots => format!("read its pressure at {}: … bar", labelled(question, spots)),
    };
    let counts = match &stored.charged {
        Ok(least) => format!("what is counted on it holds from {least:.2} upward only"),
        Err(_) => "from which pressure it counts as full is not known".to_owned(),
    };
    let Spot {
        car_number,
        position,
        ..
    } = &stored.at;
    format!("Car {car_number}, reservoir {position}: {read}; {counts}.")
}

/// Positions with their labels: "=S-T1, T1 on the car label or =S-T2".
pub(super) fn labelled(question: &Question, spots: &[Spot]) -> String {
    let named = |spot: &Spot| {
        let car_type = question.cars.get(spot.car);
        let car_type = car_type.map(|car| car.circuit.car_type());
        let position = car_type.and_then(|car_type| car_type.position(&spot.position));
        let label = position.and_then(Position::spoken_name);
        label.map_or(spot.position.to_string(), |label| {
            format!("{}, {} on the {}", spot.position, label.name, label.source)
        })
    };
    let named: Vec<String> = spots.iter().map(named).collect();
    named.join(" or ")
}
