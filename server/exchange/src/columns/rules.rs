//! The tables of rule sets: an operator's rules for running with isolated brakes.

use super::Table;
use super::cells::{DAY, REASON, REVISION, TITLE, optional, required};

const RULE_SET: &str = "the name of a rule set, at most 60 characters";
const WHEREABOUTS: &str =
    "leaving_depot, leaving_elsewhere, on_the_road, separated by semicolons; empty is everywhere";
const TRAIN_KINDS: &str =
    "commuter, short_distance, long_distance, freight, separated by semicolons; empty is all";
const MOVEMENTS: &str =
    "in_service, for_repair, for_scrap_or_sale, separated by semicolons; empty is all";

/// Rule sets.
pub static RULE_SETS: Table = Table {
    name: "rule_sets",
    row: "a revision of a rule set",
    columns: &[
        required("rule_set", RULE_SET),
        required("revision", REVISION),
        required("issuer", "who issued it, at most 500 characters"),
        required(
            "proposed_by",
            "the person who proposed it, at most 60 characters",
        ),
        required(
            "approved_by",
            "the other person who approved it, at most 60 characters",
        ),
        required(
            "note",
            "what everybody must know who uses it, at most 2000 characters",
        ),
        required("valid_from", DAY),
        optional(
            "valid_until",
            "the last day of its validity; empty while none is set",
        ),
        optional("whereabouts", WHEREABOUTS),
        optional("train_kinds", TRAIN_KINDS),
        optional("movements", MOVEMENTS),
        optional(
            "usual_load",
            "minimum, normal or maximum: what is taken as usual where a question leaves it open; \
             empty is not taken for granted, here and in the eight columns after this",
        ),
        optional(
            "usual_gradient_per_mille",
            "the steepest gradient of the way ahead, negative where it falls",
        ),
        optional(
            "usual_signalling_distance_m",
            "the shortest distance in which a train must stop by the signals",
        ),
        optional(
            "usual_whereabouts",
            "leaving_depot, leaving_elsewhere or on_the_road",
        ),
        optional(
            "usual_train_kind",
            "commuter, short_distance, long_distance or freight",
        ),
        optional(
            "usual_movement",
            "in_service, for_repair or for_scrap_or_sale",
        ),
        optional(
            "usual_holding_adhesion_thousandths",
            "the most adhesion that a holding axle is taken to use, a whole number from 10 to 500",
        ),
        optional(
            "usual_holding_adhesion_source_kind",
            "published, operator or common_practice; with an adhesion, needed",
        ),
        optional(
            "usual_holding_adhesion_source",
            "where that adhesion comes from; nothing where it is common practice",
        ),
        REASON,
    ],
};

/// Rules.
pub static RULES: Table = Table {
    name: "rules",
    row: "a rule of a rule set; all that apply to a train hold together",
    columns: &[
        required("rule_set", RULE_SET),
        required("revision", REVISION),
        required(
            "rule",
            "1 for the first rule of a rule set, 2 for the next, without a gap",
        ),
        required("title", TITLE),
        required("source_kind", "published, operator or common_practice"),
        optional(
            "source",
            "where the rule comes from, at most 500 characters; empty for common_practice",
        ),
        optional("whereabouts", WHEREABOUTS),
        optional("train_kinds", TRAIN_KINDS),
        optional("movements", MOVEMENTS),
        optional(
            "falls_steeper_than_per_mille",
            "only where the way ahead falls more steeply than this, a negative number",
        ),
        optional(
            "faster_than_km_h",
            "only where the train may run faster than this",
        ),
        optional(
            "further_than_m",
            "only where there is further to go than this",
        ),
        optional(
            "in_season",
            "only in this part of the year, by its first and last day as 10-01 to 12-15",
        ),
        optional(
            "on_routes",
            "only on these routes, as the operator calls them, separated by semicolons",
        ),
        required(
            "requirement",
            "what the rule demands and what follows, in JSON; see Requirements below",
        ),
        REASON,
    ],
};
