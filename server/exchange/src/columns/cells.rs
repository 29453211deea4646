//! What cells hold, in the words of the error texts and of the description of the format.

use super::{Column, Need};

pub(super) const fn required(name: &'static str, holds: &'static str) -> Column {
    let need = Need::Required;
    Column { name, need, holds }
}

pub(super) const fn optional(name: &'static str, holds: &'static str) -> Column {
    let need = Need::Optional;
    Column { name, need, holds }
}

pub(super) const REASON: Column = optional(
    "reason",
    "why this is recorded, in words, at most 500 characters",
);
pub(super) const SINCE: Column = required("since", MOMENT);

pub(super) const PART: &str = "a part number";
pub(super) const SERIAL: &str = "the serial number on the plate";
pub(super) const CAR: &str = "a car number";
pub(super) const CAR_TYPE: &str = "the name of a car type";
pub(super) const REVISION: &str = "a revision, at most 12 characters";
pub(super) const POSITION: &str = "a reference designation such as =BS1-Q1";
pub(super) const PLACE: &str = "a reference designation such as =BS1-Q1, or another name that is of one position of the car alone";
pub(super) const MOMENT: &str = "a date, or a time with its offset such as 2026-03-31T10:15+01:00";
pub(super) const DAY: &str = "a date such as 2026-03-31";
pub(super) const TITLE: &str = "words, at most 200 characters";
pub(super) const KIND: &str = "a position kind such as isolating_cock, hose or caliper";
pub(super) const AMOUNT: &str = "a number from 0 to 100000000, at most three decimals";
pub(super) const MASS: &str = "a whole number of kilograms from 0 to 500000; empty is unknown";
pub(super) const WHEEL: &str =
    "diameter of its wheels, a whole number of millimetres from 100 to 3000; both or neither";
pub(super) const GROUP: &str = "the name of a group of actuators";
pub(super) const EFFICIENCY: &str = "a whole number from 1 to 1000";
pub(super) const NEWTONS: &str = "newtons, a whole number from 0 to 1000000";
pub(super) const ALONG: &str = "a whole number of millimetres from end 1";
pub(super) const METER: &str = "odometer, running_hours or compressor_hours";
pub(super) const ORIENTATION: &str = "forward or reversed";
pub(super) const PLACE_IN_ORDER: &str =
    "a whole number: 1 for the first, 2 for the next, without a gap";
pub(super) const MODES: &str = "service, emergency, holding, separated by semicolons";
pub(super) const LOCATION: &str = "a store, workshop, contractor, or in transit";
pub(super) const LOCATION_KIND: &str =
    "store, workshop, contractor, in_transit, quarantine or scrapped";
pub(super) const CONDITION: &str =
    "serviceable, removed_to_be_judged, unserviceable, quarantined, beyond_salvage or scrapped";
pub(super) const MEASURAND: &str = "what is measured, at most 60 characters";
pub(super) const LOAD: &str = "minimum, normal or maximum, where the limits depend on it";
pub(super) const DAYS: &str = "a whole number of days from 0 to 36500";
pub(super) const INTERVAL: &str = "more than 0, at most 100000000, at most three decimals";
pub(super) const EVIDENCE: &str = "words or a number of a paper, at most 500 characters";
