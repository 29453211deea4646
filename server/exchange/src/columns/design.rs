//! The tables of a fleet's design: parts, car types, tasks, and the formations that a generated
//! fleet is made of.

use super::cells::{
    ALONG, AMOUNT, CAR_TYPE, DAYS, EFFICIENCY, GROUP, INTERVAL, KIND, LOAD, MASS, MEASURAND, MODES,
    NEWTONS, PART, POSITION, REASON, REVISION, TITLE, WHEEL, optional, required,
};
use super::{Column, Table};

const APPROVED_STATES: Column = optional(
    "approved_states",
    "the modification states asked for of approved parts, as DV/210@B C;DV/220@A; of a part that \
     is not named, any",
);

/// Catalogue entries.
pub static PARTS: Table = Table {
    name: "parts",
    row: "a catalogue entry",
    columns: &[
        required("part", PART),
        required("title", TITLE),
        required("kind", KIND),
        optional(
            "modification_states",
            "the states its components can be in, in the order in which they came about, \
             separated by semicolons",
        ),
        optional(
            "replaces",
            "earlier parts that it takes the place of where both are approved, one_way where \
             they do not come back, else two_way: DV/210@one_way;DV/215@two_way",
        ),
        REASON,
    ],
};

/// The positions that parts have of their own.
pub static PART_POSITIONS: Table = Table {
    name: "part_positions",
    row: "a position inside a part, which then is an assembly",
    columns: &[
        required("part", "the number of the assembly's part"),
        required("position", "a reference designation such as -V2"),
        required("title", TITLE),
        required("kind", KIND),
        optional(
            "approved_parts",
            "part numbers separated by semicolons; a part is not inside itself, directly or through others",
        ),
        APPROVED_STATES,
        optional(
            "vacancy",
            "finding, or forbidden where the assembly does not go on a car without it; empty is \
             finding",
        ),
        REASON,
    ],
};

/// Car types; together with the six tables that follow, their designs.
pub static CAR_TYPES: Table = Table {
    name: "car_types",
    row: "the baseline of a car type",
    columns: &[
        required("car_type", CAR_TYPE),
        required("revision", REVISION),
        required("fleet", "the name of a fleet"),
        required("title", TITLE),
        required("vehicle_kind", "locomotive or car"),
        optional("hand_brake", "inside or outside_or_none"),
        optional(
            "load_signal_lost",
            "what the brake control takes for the load without a load signal: minimum, normal, \
             maximum or last_value; empty is unknown",
        ),
        optional(
            "usual_brake_position",
            "the brake position in which trains of such cars run as a rule: P, R, G or EP; empty is \
             unknown",
        ),
        required(
            "length_mm",
            "length over couplers, a whole number from 1 to 100000",
        ),
        required("speed_max_km_h", "a whole number from 1 to 500"),
        required(
            "daily_km_max",
            "the most kilometres a day, a whole number from 1 to 10000",
        ),
        optional("mass_minimum_kg", MASS),
        optional("mass_normal_kg", MASS),
        optional("mass_maximum_kg", MASS),
        optional(
            "rotating_mass_kg",
            "what rotating parts add to its mass, a whole number of kilograms from 0 to 500000",
        ),
        optional("wheel_new_mm", WHEEL),
        optional("wheel_worn_mm", WHEEL),
        optional(
            "adhesion_max_thousandths",
            "the most adhesion that a braked axle may use, a whole number from 1 to 500",
        ),
        optional(
            "demand_sharing",
            "what brakes do when others are cut out: not_shared or over_the_train",
        ),
        optional(
            "main_air_least_mbar",
            "the least pressure that its main air is kept at while a compressor works, thousandths \
             of a bar, a whole number from 1 to 20000",
        ),
        REASON,
    ],
};

/// Axles of car types.
pub static AXLES: Table = Table {
    name: "axles",
    row: "an axle of a car type",
    columns: &[
        required("car_type", CAR_TYPE),
        required("revision", REVISION),
        required(
            "bogie",
            "the number of its bogie, from 1 at end 1, at most 20",
        ),
        required("axle", "its number from 1 at end 1, at most 40"),
        required("along_mm", ALONG),
        REASON,
    ],
};

/// Positions of car types with their behaviour in the circuit.
pub static POSITIONS: Table = Table {
    name: "positions",
    row: "a position of a car type",
    columns: &[
        required("car_type", CAR_TYPE),
        required("revision", REVISION),
        required("position", POSITION),
        required("title", TITLE),
        required("kind", KIND),
        optional("bogie", "the number of the bogie it is on or acts on"),
        optional("axle", "the number of the axle it acts on"),
        optional("end", "end1 or end2, for end equipment"),
        optional("side", "left or right, seen from end 1"),
        required("along_mm", ALONG),
        optional("approved_parts", "part numbers separated by semicolons"),
        APPROVED_STATES,
        optional(
            "settings",
            "values that belong to its configuration: name, value wanted and what else is allowed, \
             as opening pressure@8.5 bar@8.3 to 8.7;orientation@upright@inverted;\
             software@revision 2.4@revision 2.3 or revision 2.2",
        ),
        optional(
            "aliases",
            "other names with their source, as 7@car label;12.3@drawing; the name whose source is `car label` is what stands on the car beside the position, as the sheet, the checks and the buttons of a train show it",
        ),
        optional(
            "behaviour",
            "source, pass, cock, reservoir, all_of, any_of, air_applied or spring_applied; \
             empty where it is not in the circuit",
        ),
        optional(
            "modes",
            "only for a source: service, emergency, holding, separated by semicolons",
        ),
        optional("venting", "only for a cock: yes or no"),
        optional(
            "volume_l",
            "only for a reservoir: litres, a whole number from 1 to 10000",
        ),
        optional(
            "holding_force_n",
            "only for spring_applied: newtons, a whole number from 1 to 1000000",
        ),
        REASON,
    ],
};

/// Lines of circuits.
pub static LINES: Table = Table {
    name: "lines",
    row: "a line of a car type's circuit",
    columns: &[
        required("car_type", CAR_TYPE),
        required("revision", REVISION),
        required("from", "a position code, or a port such as end1:main_pipe"),
        required("to", "a position code, or a port such as end1:main_pipe"),
        required(
            "input",
            "the input it joins there, in lower case letters and underscores",
        ),
        required(
            "medium",
            "main_air, brake_pipe_air, brake_pipe_demand, pilot_pressure, cylinder_pressure, \
             suspension_air, parking_air or electrical_demand",
        ),
        optional("modes", MODES),
        REASON,
    ],
};

/// Assessed braked weights.
pub static BRAKED_WEIGHTS: Table = Table {
    name: "braked_weights",
    row: "the assessed braked weight of an actuator",
    columns: &[
        required("car_type", CAR_TYPE),
        required("revision", REVISION),
        required("position", POSITION),
        required("brake_position", "P, R, G or EP"),
        required("load", "minimum, normal or maximum"),
        required(
            "braked_weight_kg",
            "a whole number of kilograms from 0 to 500000",
        ),
        REASON,
    ],
};

/// Actuators that are built alike, with what their forces are computed from.
pub static BRAKE_GROUPS: Table = Table {
    name: "brake_groups",
    row: "a group of actuators of a car type that are built alike",
    columns: &[
        required("car_type", CAR_TYPE),
        required("revision", REVISION),
        required("group", GROUP),
        required("positions", "position codes separated by semicolons"),
        required("acts_on", "disc or tread"),
        optional(
            "friction_radius_mm",
            "only for a disc, and needed there: a whole number from 1 to 1000",
        ),
        required("piston_area_mm2", "a whole number from 1 to 1000000"),
        required("cylinder_efficiency_thousandths", EFFICIENCY),
        required("spring_n", NEWTONS),
        required(
            "ratio_thousandths",
            "force at each pad of a disc, or at all blocks together, by cylinder force: a whole \
             number from 1 to 100000",
        ),
        required("adjuster_n", NEWTONS),
        required("efficiency_thousandths", EFFICIENCY),
        required(
            "friction_thousandths",
            "mean coefficient of friction over a stop, a whole number from 1 to 1000",
        ),
        optional(
            "stop_energy_max_kj",
            "the most energy that a stop may put into each disc or wheel, a whole number from 1 \
             to 1000000",
        ),
        optional(
            "cylinder_volume_ml",
            "volume of each cylinder with its pipe, piston out, in millilitres, a whole number from 1 \
             to 1000000",
        ),
        REASON,
    ],
};

/// Cylinder pressures of groups.
pub static CYLINDER_PRESSURES: Table = Table {
    name: "cylinder_pressures",
    row: "the full cylinder pressure of a group in one brake position and load, and how it rises",
    columns: &[
        required("car_type", CAR_TYPE),
        required("revision", REVISION),
        required("group", GROUP),
        required("brake_position", "P, R, G or EP"),
        required("load", "minimum, normal or maximum"),
        required(
            "pressure_mbar",
            "thousandths of a bar, a whole number from 0 to 20000",
        ),
        required(
            "delay_ms",
            "milliseconds from the command until it rises, a whole number from 0 to 60000",
        ),
        required(
            "rise_ms",
            "milliseconds from then until it is full, a whole number from 0 to 60000",
        ),
        REASON,
    ],
};

/// Tasks.
pub static TASKS: Table = Table {
    name: "tasks",
    row: "a task with its limits; at least one limit",
    columns: &[
        required("task", "a code, at most 30 characters"),
        required("revision", REVISION),
        required("title", TITLE),
        required(
            "kind",
            "test, inspection, intermediate_overhaul, overhaul or life_limit",
        ),
        optional("part", "a part number; exactly one of part and car_type"),
        optional("car_type", "a car type; exactly one of part and car_type"),
        required("counts_from", "done or due_point"),
        required("clock_start", "overhaul or fitting"),
        optional(
            "longest_in_store_days",
            "with clock_start fitting: the days in store after which the clock starts regardless",
        ),
        optional(
            "satisfies",
            "tasks that count as done with it, separated by semicolons",
        ),
        optional(
            "due_at_once_after",
            "of a task of cars: after what work on the car it is due at once, separated by semicolons: \
             exchanged, set or cut_out_ended with the kind of position and the first day for which that \
             holds, or coupled with that day, as exchanged relay_valve 2026-11-01",
        ),
        required(
            "source",
            "where the interval comes from, at most 500 characters",
        ),
        optional(
            "days",
            "a whole number of days from 1 to 36500; not with months",
        ),
        optional("days_early", DAYS),
        optional("days_late", DAYS),
        optional("months", "a whole number of months from 1 to 1200"),
        optional("months_early", DAYS),
        optional("months_late", DAYS),
        optional("km", INTERVAL),
        optional("km_early", AMOUNT),
        optional("km_late", AMOUNT),
        optional("running_hours", INTERVAL),
        optional("running_hours_early", AMOUNT),
        optional("running_hours_late", AMOUNT),
        optional("compressor_hours", INTERVAL),
        optional("compressor_hours_early", AMOUNT),
        optional("compressor_hours_late", AMOUNT),
        REASON,
    ],
};

/// Procedures of tests.
pub static PROCEDURES: Table = Table {
    name: "procedures",
    row: "a measurand of a procedure; the rows of a procedure stand together",
    columns: &[
        required("procedure", "a code, at most 30 characters"),
        required("revision", REVISION),
        required("title", TITLE),
        optional("part", "a part number; exactly one of part and car_type"),
        optional("car_type", "a car type; exactly one of part and car_type"),
        optional(
            "task",
            "the task that the test belongs to; a failed test makes it due at once",
        ),
        required(
            "source",
            "where the limits come from, at most 500 characters",
        ),
        required("measurand", MEASURAND),
        optional("load", LOAD),
        required(
            "role",
            "result, of what is tested; or condition, of how the test is made",
        ),
        required(
            "unit",
            "the unit of its values, such as bar, at most 20 characters",
        ),
        optional(
            "lower",
            "the least value that passes; at least one of lower and upper",
        ),
        optional("upper", "the greatest value that passes"),
        optional(
            "measured_at",
            "positions at which it is measured, separated by semicolons, where it is a pressure",
        ),
        optional(
            "during",
            "with measured_at: what the brake is doing, service, emergency, released or parked",
        ),
        REASON,
    ],
};
