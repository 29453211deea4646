//! The files of what is changed and looked at: modifications, concessions, checks of the fleet and
//! evidence holds.

use super::Table;
use super::cells::{MOMENT, PART, REASON, SERIAL, SINCE, TITLE, optional, required};

const RANGES: &str = "cars by their numbers or from one to another, as 4101;4107 to 4112";

/// Modifications.
pub static MODIFICATIONS: Table = Table {
    name: "modifications",
    row: "a change campaign, on the components of a part or on cars of a type",
    columns: &[
        required("modification", "a number, at most 20 characters"),
        required("title", TITLE),
        optional(
            "part",
            "with state: the part that is changed; else car_type",
        ),
        optional("state", "with part: the modification state it is in then"),
        optional(
            "positions",
            "with part: only at these positions of cars, separated by semicolons",
        ),
        optional("car_type", "with cars: the type that is changed; else part"),
        optional("cars", RANGES),
        required("by", "the last day for it, such as 2026-03-31"),
        required("source", "the instruction it is done by"),
        SINCE,
        REASON,
    ],
};

/// Concessions. They are read before the fitments that they allow.
pub static CONCESSIONS: Table = Table {
    name: "concessions",
    row: "a concession, in force as it was granted by two people",
    columns: &[
        required("concession", "a number, at most 20 characters"),
        required("cars", RANGES),
        required("position", "the position by its full code"),
        optional("part", "the part that is allowed there; else setting"),
        optional(
            "setting",
            "the setting that may have another value there than the one wanted; else part",
        ),
        optional(
            "outside_range",
            "with setting: yes where its value may be outside what is allowed there, no or empty where only within it",
        ),
        optional(
            "values",
            "with outside_range yes: the values that are allowed, as 8.7 to 9.2 bar, inverted or sideways, or revision 2.3 or revision 2.2",
        ),
        required(
            "risk",
            "why the risk is accepted, and what is done to keep it small, at most 500 characters",
        ),
        required(
            "until",
            "the last day on which it is in force, within 24 months of since",
        ),
        SINCE,
        REASON,
    ],
};

/// Plates. They are read after the components that bear them.
pub static PLATES: Table = Table {
    name: "plates",
    row: "a component that bears another serial number than it came in with; the rows of a component in order of time",
    columns: &[
        required("part", PART),
        required("serial", "the serial number that it came in with"),
        required("plate", "the serial number on its plate from then on"),
        required(
            "cause",
            "replaced, or misread where the plate was there all the time",
        ),
        required("at", MOMENT),
        required(
            "reason",
            "how that is known, in words, at most 500 characters",
        ),
    ],
};

/// Visits. They are read after all that is to be embodied during them is issued.
pub static VISITS: Table = Table {
    name: "visits",
    row: "a planned stay of a unit at a depot",
    columns: &[
        required("visit", "a number, at most 20 characters"),
        required("unit", "a unit number"),
        required(
            "depot",
            "the depot where it stays: one where cars are at home, or a workshop or contractor among the locations",
        ),
        required("from", "the day on which it comes, as 2026-03-31"),
        required("until", "the day on which it goes, not before it comes"),
        required(
            "hours",
            "hours of work there are for it, a whole number from 1 to 20000",
        ),
        optional(
            "modifications",
            "the modifications that are to be embodied during it, separated by semicolons",
        ),
        SINCE,
        REASON,
    ],
};

/// Checks of the fleet.
pub static FLEET_CHECKS: Table = Table {
    name: "fleet_checks",
    row: "a car that is asked by a check of the fleet; the rows of a check stand together",
    columns: &[
        required("title", TITLE),
        required(
            "instruction",
            "what is to be looked at and done, at most 500 characters",
        ),
        required(
            "looked_for",
            "how the cars were found, at most 500 characters",
        ),
        optional(
            "part",
            "the part that is looked for, so that the register can go on looking for it",
        ),
        optional(
            "serials_begin",
            "with part: how the serial numbers begin that are looked for; any where empty",
        ),
        optional(
            "batch",
            "with part and without serials_begin: the batch that is looked for",
        ),
        required(
            "answer_by",
            "the last day for an answer, such as 2026-03-31",
        ),
        SINCE,
        required("car", "a car number"),
        optional(
            "answer",
            "sound, defective or not_carried; empty while it has not answered",
        ),
        optional("answered_by", "with answer: who answered"),
        optional(
            "answered_at",
            "with answer: when it was looked at, a date or a time",
        ),
        optional(
            "remark",
            "with answer: what was seen and done; needed where it is defective",
        ),
        REASON,
    ],
};

/// Evidence holds. They are read last: nothing touches what is held.
pub static HOLDS: Table = Table {
    name: "holds",
    row: "an evidence hold in force, set by whoever brings it in and lifted by nobody else",
    columns: &[
        optional("part", PART),
        optional("serial", SERIAL),
        optional(
            "car",
            "the car with all that is on it; else part and serial",
        ),
        required(
            "investigation",
            "what is investigated and for whom, at most 500 characters",
        ),
        SINCE,
        REASON,
    ],
};
