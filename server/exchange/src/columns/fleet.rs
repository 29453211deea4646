//! The tables of what exists and happened: cars, units, readings, components, where they were,
//! work, trains, isolations.

use super::cells::{
    AMOUNT, CAR, CAR_TYPE, CONDITION, DAY, EVIDENCE, LOAD, LOCATION, LOCATION_KIND, MEASURAND,
    METER, MOMENT, ORIENTATION, PART, PLACE, PLACE_IN_ORDER, REASON, REVISION, SERIAL, SINCE,
    optional, required,
};
use super::{Column, Table};

/// Cars.
pub static CARS: Table = Table {
    name: "cars",
    row: "a car",
    columns: &[
        required("car", CAR),
        optional(
            "vehicle_number",
            "the twelve digits of its European Vehicle Number",
        ),
        required("car_type", CAR_TYPE),
        required("revision", REVISION),
        required("fleet", "the name of a fleet"),
        required("depot", "the depot that keeps it"),
        optional(
            "entered_service_on",
            "the day, as 2026-03-31 and not after since, from which its work counts until it was first done",
        ),
        SINCE,
        REASON,
    ],
};

/// Units.
pub static UNITS: Table = Table {
    name: "units",
    row: "a car of a unit; the rows of a unit stand together",
    columns: &[
        required("unit", "a unit number"),
        required("place", PLACE_IN_ORDER),
        required("car", CAR),
        required("orientation", ORIENTATION),
        SINCE,
        REASON,
    ],
};

/// Replaced meters. They are read before the readings: a reading is checked against them.
pub static METER_REPLACEMENTS: Table = Table {
    name: "meter_replacements",
    row: "a meter that was replaced",
    columns: &[
        required("car", CAR),
        required("meter", METER),
        required("last_value", AMOUNT),
        required("first_value", AMOUNT),
        required("at", MOMENT),
        REASON,
    ],
};

/// Readings.
pub static READINGS: Table = Table {
    name: "readings",
    row: "a value read from a meter; the rows of a car in order of time",
    columns: &[
        required("car", CAR),
        required("meter", METER),
        required("value", AMOUNT),
        required("at", MOMENT),
        optional(
            "confirmed",
            "why a rate that looks impossible is right, at most 500 characters",
        ),
        REASON,
    ],
};

/// Locations. They are read before what is kept at them.
pub static LOCATIONS: Table = Table {
    name: "locations",
    row: "what a location is, from a time on; where that is not told, nothing is expected from there",
    columns: &[
        required("location", "the name of a location"),
        required("kind", LOCATION_KIND),
        SINCE,
        REASON,
    ],
};

/// Components.
pub static COMPONENTS: Table = Table {
    name: "components",
    row: "a component as it came into the register; what is empty is unknown",
    columns: &[
        required("part", PART),
        required("serial", SERIAL),
        required("condition", CONDITION),
        required("location", LOCATION),
        optional("manufactured_on", DAY),
        optional("overhauled_on", DAY),
        optional("km", AMOUNT),
        optional("running_hours", AMOUNT),
        optional("compressor_hours", AMOUNT),
        optional("km_since_overhaul", AMOUNT),
        optional("running_hours_since_overhaul", AMOUNT),
        optional("compressor_hours_since_overhaul", AMOUNT),
        optional("certificate", EVIDENCE),
        optional(
            "modification_state",
            "the modification state on its plate, one of its part's",
        ),
        optional(
            "batch",
            "the lot that its maker made it in, as its label says, at most 40 characters",
        ),
        required("received_at", MOMENT),
        REASON,
    ],
};

/// Judged conditions. They are read before the fitments: a component that came off is fitted again
/// on the strength of a judgement in between.
pub static CONDITIONS: Table = Table {
    name: "conditions",
    row: "a component whose condition was judged; the rows of a component in order of time",
    columns: &[
        required("part", PART),
        required("serial", SERIAL),
        required("condition", CONDITION),
        required("evidence", EVIDENCE),
        required("at", MOMENT),
        REASON,
    ],
};

const UNTIL: Column = optional(
    "until",
    "a date or time after from; empty while it is fitted",
);
const REMOVAL_REASON: Column = optional(
    "removal_reason",
    "with until: failed, suspected, due, life_limit, modification, access, robbed, matched_set, \
     damage, recall, evidence or register_error",
);
const REMOVED_TO: Column = optional(
    "removed_to",
    "with until: a store, workshop, contractor, or in transit",
);
const BOUND_FOR: Column = optional(
    "bound_for",
    "the location where it is to arrive; needed where it is in transit, else empty",
);
const EXPECTED_ON: Column = optional(
    "expected_on",
    "the day, as 2026-03-31, on which it is expected from a contractor or from transit",
);
const CONDITION_AFTER: Column = optional(
    "condition_after",
    "with until: serviceable, removed_to_be_judged, unserviceable, quarantined, beyond_salvage or scrapped",
);

/// Fitments in assemblies. They are read before those on cars: an assembly goes on a car with what
/// is inside it.
pub static INNER_FITMENTS: Table = Table {
    name: "inner_fitments",
    row: "a component inside an assembly over a period, wherever the assembly was",
    columns: &[
        required("host_part", "the part number of the assembly"),
        required("host_serial", "the serial number of the assembly"),
        required("position", "the code of the position within the assembly"),
        required("part", PART),
        required("serial", SERIAL),
        required("from", MOMENT),
        UNTIL,
        REMOVAL_REASON,
        REMOVED_TO,
        CONDITION_AFTER,
        BOUND_FOR,
        EXPECTED_ON,
        REASON,
    ],
};

/// Fitments on cars.
pub static FITMENTS: Table = Table {
    name: "fitments",
    row: "a component at a position of a car over a period, with all that was inside it",
    columns: &[
        required("car", CAR),
        required("position", PLACE),
        required("part", PART),
        required("serial", SERIAL),
        required("from", MOMENT),
        UNTIL,
        REMOVAL_REASON,
        REMOVED_TO,
        CONDITION_AFTER,
        optional(
            "concession",
            "the number of the concession that allows it, where the baseline does not approve it",
        ),
        BOUND_FOR,
        EXPECTED_ON,
        REASON,
    ],
};

/// Relocations. They are read after the fitments: only what is not fitted is moved.
pub static RELOCATIONS: Table = Table {
    name: "relocations",
    row: "a component that was moved while it was not fitted; the rows of a component in order \
          of time",
    columns: &[
        required("part", PART),
        required("serial", SERIAL),
        required("to", LOCATION),
        BOUND_FOR,
        EXPECTED_ON,
        required("at", MOMENT),
        REASON,
    ],
};

const OF_PART: Column = optional("part", "with serial: the component; else car");
const OF_SERIAL: Column = optional("serial", "with part: the component; else car");
const OF_CAR: Column = optional("car", "the car; else part and serial");

/// Tasks that were done.
pub static TASKS_DONE: Table = Table {
    name: "tasks_done",
    row: "work that was done, on a component or on a car",
    columns: &[
        required("task", "the code of a task"),
        OF_PART,
        OF_SERIAL,
        OF_CAR,
        required("at", MOMENT),
        required("evidence", EVIDENCE),
        REASON,
    ],
};

/// Test records.
pub static TEST_RECORDS: Table = Table {
    name: "test_records",
    row: "a measured value of a test record; the rows of a test record stand together",
    columns: &[
        required(
            "test_record",
            "the identity of the record, at most 40 characters",
        ),
        required("procedure", "the code of a procedure"),
        required("revision", REVISION),
        OF_PART,
        OF_SERIAL,
        OF_CAR,
        required("at", MOMENT),
        required("tester", "who measured"),
        required("instrument", "the number of the instrument"),
        optional(
            "calibrated_until",
            "the last day of the instrument's calibration; empty is unknown",
        ),
        required("measurand", MEASURAND),
        optional("load", LOAD),
        required("value", "a number with at most six decimals"),
        REASON,
    ],
};

/// Trains.
pub static TRAINS: Table = Table {
    name: "trains",
    row: "a unit or car of a train; the rows of a train stand together",
    columns: &[
        required("train", "a train"),
        required("place", PLACE_IN_ORDER),
        optional("unit", "a unit number; exactly one of unit and car"),
        optional("car", "a car number; exactly one of unit and car"),
        required("orientation", ORIENTATION),
        SINCE,
        REASON,
    ],
};

/// Settings of positions.
pub static SETTINGS: Table = Table {
    name: "settings",
    row: "a setting that was made or found at a position of a car, on what was fitted there",
    columns: &[
        required("car", CAR),
        required("position", PLACE),
        required(
            "setting",
            "the name of a setting that the car type asks for there",
        ),
        required(
            "value",
            "what it was set to or found at, where it was made within what is allowed: a number \
             with its unit, a word, or revision and its text, as 8.5 bar, upright or revision 2.4",
        ),
        optional(
            "how",
            "made where somebody set it so, found where somebody found it so; empty is made",
        ),
        required("at", MOMENT),
        optional(
            "reason",
            "why, in words, at most 500 characters; needed where it was made and is not the value wanted",
        ),
    ],
};

/// Modifications as they were embodied. They are read after the fitments: what is on a car is
/// modified there.
pub static EMBODIED: Table = Table {
    name: "embodied",
    row: "a modification that was embodied, in a component or in a car",
    columns: &[
        required("modification", "the number of a modification"),
        OF_PART,
        OF_SERIAL,
        OF_CAR,
        required("at", MOMENT),
        required("evidence", EVIDENCE),
        REASON,
    ],
};

/// Isolations.
pub static ISOLATIONS: Table = Table {
    name: "isolations",
    row: "a position in a state that isolates",
    columns: &[
        required("car", CAR),
        required("position", PLACE),
        required(
            "state",
            "of a cock closed_vented, closed_trapped, supply_cut or failed, or of one that was cut \
             out and is open again with no test since reopened_not_proven; of a brake \
             released_by_hand or failed, or of a spring of which it is known \
             released_until_air_returns or released_until_reset; of a reservoir or distributor valve closed_vented or \
             failed; of a dryer or filter bypassed or failed; of a compressor electrically_off or \
             failed; of what works by current, such as a magnet valve or electronics of the \
             wheel-slide protection, electrically_off, bypassed or failed; of anything else \
             failed",
        ),
        required(
            "cause",
            "why it was closed or how it was found, at most 500 characters",
        ),
        SINCE,
        optional(
            "not_before",
            "a date or time before since: when it was last seen as it should be",
        ),
        optional(
            "until",
            "a date or time after since; empty while it is in force",
        ),
        optional(
            "proved_by",
            "with until: the test record that proved the brake restored",
        ),
        REASON,
    ],
};

/// How a generated fleet forms its units. Not part of what is brought in; the reader of an
/// input passes over it.
pub static FORMATIONS: Table = Table {
    name: "formations",
    row: "a car of a formation; the rows of a formation stand together",
    columns: &[
        required(
            "formation",
            "a name, at most 12 characters, that begins its unit numbers",
        ),
        required("place", PLACE_IN_ORDER),
        required("car_type", CAR_TYPE),
        required("revision", REVISION),
        required("orientation", ORIENTATION),
        required(
            "share",
            "how many units of it to every unit of a formation with share 1, from 1 to 1000",
        ),
    ],
};
