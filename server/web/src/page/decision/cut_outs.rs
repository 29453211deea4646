//! The cut-outs in force on the train of an answer, one below the other.

use super::answered::Answered;
use super::labels;
use crate::address;
use crate::page::isolations::age::{Age, age};
use domain::ledger::entry::Seq;
use domain::time::{Instant, Zone};
use store::read::formations::CarInTrain;

/// A cut-out in force on the train.
pub(super) struct CutOutRow {
    pub(super) car: String,
    /// What stands on the car there.
    pub(super) label: Option<String>,
    pub(super) code: String,
    pub(super) title: String,
    pub(super) state: String,
    pub(super) cause: String,
    pub(super) age: Age,
    /// The entry that recorded it.
    pub(super) id: Seq,
    /// Where its end is recorded; none where the page tells of a past time.
    pub(super) ends: Option<Ends>,
}

/// The forms that end a cut-out, or say that it is in another state.
pub(super) struct Ends {
    pub(super) end: String,
    pub(super) restate: String,
}

/// Of which time cut-outs are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Told {
    OfNow,
    OfThen,
}

/// Those on all cars, with their ages at a moment.
pub(super) fn cut_outs(
    answered: &Answered,
    (zone, at): (&Zone, Instant),
    told: Told,
) -> Vec<CutOutRow> {
    let of_car = |(place, car): (usize, &CarInTrain)| {
        let known = answered.answer.cars.get(place);
        let rows = car.isolations.iter().map(|isolation| {
            let place = &isolation.cut_out.at;
            let position = known.and_then(|car| car.circuit.car_type().position(&place.position));
            CutOutRow {
                car: place.car.to_string(),
                label: position.and_then(labels::on_car),
                code: place.position.to_string(),
                title: position.map_or(String::new(), |position| position.title.clone()),
                state: isolation.cut_out.state.to_string(),
                cause: isolation.cut_out.cause.clone(),
                age: age(isolation, zone, at),
                id: isolation.id,
                ends: (told == Told::OfNow).then(|| Ends {
                    end: address::end_isolation(place),
                    restate: address::record_as(place, ""),
                }),
            }
        });
        rows.collect::<Vec<_>>()
    };
    answered.cars.iter().enumerate().flat_map(of_car).collect()
}
