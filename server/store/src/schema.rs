//! The migrations, in the words of the database at hand.

/// The migrations in order: number, name, text.
pub(crate) const MIGRATIONS: &[(i64, &str, &str)] = &[
    (
        1,
        "ledger",
        include_str!("../../../migrations/0001_ledger.sql"),
    ),
    (
        2,
        "fleet",
        include_str!("../../../migrations/0002_fleet.sql"),
    ),
    (
        3,
        "components",
        include_str!("../../../migrations/0003_components.sql"),
    ),
    (
        4,
        "meters",
        include_str!("../../../migrations/0004_meters.sql"),
    ),
    (
        5,
        "isolations",
        include_str!("../../../migrations/0005_isolations.sql"),
    ),
    (
        6,
        "accounts",
        include_str!("../../../migrations/0006_accounts.sql"),
    ),
    (7, "due", include_str!("../../../migrations/0007_due.sql")),
    (
        8,
        "tests",
        include_str!("../../../migrations/0008_tests.sql"),
    ),
    (
        9,
        "due_at_once",
        include_str!("../../../migrations/0009_due_at_once.sql"),
    ),
    (
        10,
        "people",
        include_str!("../../../migrations/0010_people.sql"),
    ),
    (
        11,
        "refused",
        include_str!("../../../migrations/0011_refused.sql"),
    ),
    (
        12,
        "proposals",
        include_str!("../../../migrations/0012_proposals.sql"),
    ),
    (
        13,
        "changes",
        include_str!("../../../migrations/0013_changes.sql"),
    ),
    (
        14,
        "decisions",
        include_str!("../../../migrations/0014_decisions.sql"),
    ),
    (
        15,
        "ledger_by_time",
        include_str!("../../../migrations/0015_ledger_by_time.sql"),
    ),
    (
        16,
        "assemblies",
        include_str!("../../../migrations/0016_assemblies.sql"),
    ),
    (
        17,
        "due by car",
        include_str!("../../../migrations/0017_due_by_car.sql"),
    ),
    (
        18,
        "due by fleet",
        include_str!("../../../migrations/0018_due_by_fleet.sql"),
    ),
    (
        19,
        "baselines",
        include_str!("../../../migrations/0019_baselines.sql"),
    ),
    (
        20,
        "concessions",
        include_str!("../../../migrations/0020_concessions.sql"),
    ),
    (
        21,
        "modifications",
        include_str!("../../../migrations/0021_modifications.sql"),
    ),
    (
        22,
        "evidence holds",
        include_str!("../../../migrations/0022_evidence_holds.sql"),
    ),
    (
        23,
        "sign on",
        include_str!("../../../migrations/0023_sign_on.sql"),
    ),
    (
        24,
        "settings",
        include_str!("../../../migrations/0024_settings.sql"),
    ),
    (
        25,
        "fleet checks",
        include_str!("../../../migrations/0025_fleet_checks.sql"),
    ),
    (
        26,
        "away",
        include_str!("../../../migrations/0026_away.sql"),
    ),
    (
        27,
        "plates",
        include_str!("../../../migrations/0027_plates.sql"),
    ),
    (
        28,
        "states known",
        include_str!("../../../migrations/0028_states_known.sql"),
    ),
    (
        29,
        "visits",
        include_str!("../../../migrations/0029_visits.sql"),
    ),
    (
        30,
        "finding",
        include_str!("../../../migrations/0030_finding.sql"),
    ),
    (
        31,
        "about",
        include_str!("../../../migrations/0031_about.sql"),
    ),
    (
        32,
        "unfit",
        include_str!("../../../migrations/0032_unfit.sql"),
    ),
    (
        33,
        "zone",
        include_str!("../../../migrations/0033_zone.sql"),
    ),
    (
        34,
        "late_and_found",
        include_str!("../../../migrations/0034_late_and_found.sql"),
    ),
    (
        35,
        "unfit departures",
        include_str!("../../../migrations/0035_unfit_departures.sql"),
    ),
    (
        36,
        "checks go on",
        include_str!("../../../migrations/0036_checks_go_on.sql"),
    ),
    (
        37,
        "receipts withdrawn",
        include_str!("../../../migrations/0037_receipts_withdrawn.sql"),
    ),
    (
        38,
        "due off cars",
        include_str!("../../../migrations/0038_due_off_cars.sql"),
    ),
    (
        39,
        "batches",
        include_str!("../../../migrations/0039_batches.sql"),
    ),
    (
        40,
        "decisions told late",
        include_str!("../../../migrations/0040_decisions_told_late.sql"),
    ),
    (
        41,
        "registered for when",
        include_str!("../../../migrations/0041_registered_for_when.sql"),
    ),
    (
        42,
        "doubts",
        include_str!("../../../migrations/0042_doubts.sql"),
    ),
    (
        43,
        "cars withdrawn",
        include_str!("../../../migrations/0043_cars_withdrawn.sql"),
    ),
    (
        44,
        "overdue by car",
        include_str!("../../../migrations/0044_overdue_by_car.sql"),
    ),
    (
        45,
        "failed tests",
        include_str!("../../../migrations/0045_failed_tests.sql"),
    ),
];

/// PostgreSQL's type words and what SQLite has in their place.
const SQLITE_WORDS: &[(&str, &str)] = &[
    ("BIGINT", "INTEGER"),
    ("SMALLINT", "INTEGER"),
    ("BOOLEAN", "INTEGER"),
    ("DATE", "INTEGER"),
    ("TIMESTAMPTZ", "INTEGER"),
    ("UUID", "BLOB"),
    ("BYTEA", "BLOB"),
];

/// A migration in SQLite's words: type words replaced, tables strict.
pub(crate) fn for_sqlite(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for line in text.lines() {
        let mut words = String::with_capacity(line.len());
        let mut word = String::new();
        for c in line.chars().chain(['\n']) {
            if c.is_ascii_alphanumeric() || c == '_' {
                word.push(c);
            } else {
                let found = SQLITE_WORDS.iter().find(|(theirs, _)| *theirs == word);
                words.push_str(found.map_or(word.as_str(), |(_, ours)| ours));
                word.clear();
                words.push(c);
            }
        }
        // A table's text ends in a line of its own, an index's does not.
        out.push_str(if line == ");" { ") strict;\n" } else { &words });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn type_words_are_replaced_as_words_and_tables_become_strict() {
        let text = "create table t (\n    id BIGINT primary key,\n    updated DATE\n);\n";
        let expected =
            "create table t (\n    id INTEGER primary key,\n    updated INTEGER\n) strict;\n";
        assert_eq!(for_sqlite(text), expected);
    }
}
