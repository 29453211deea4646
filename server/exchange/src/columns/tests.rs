//! The description of the format for people says what the table of columns says.

use super::{FORMATIONS, Need, TABLES, Table};
use crate::input::{Input, Options};
use domain::configuration::car_type::PositionKind;
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use domain::ledger::record::{Next, founder, record};
use domain::time::Zone;
use std::collections::HashSet;

const README: &str = include_str!("../../../../seed-data/README.md");

fn section(table: &Table) -> &'static str {
    let heading = format!("\n## {}.csv\n", table.name);
    let (_, section) = README
        .split_once(&heading)
        .expect("a heading for each table");
    section.split("\n## ").next().unwrap_or(section)
}

fn example(table: &Table) -> &'static str {
    let (_, example) = section(table).split_once("```csv\n").expect("an example");
    example.split("```").next().unwrap_or(example)
}

#[test]
fn the_description_lists_each_column_of_each_table_and_no_other() {
    for table in TABLES.into_iter().chain([&FORMATIONS]) {
        let lines = section(table).lines();
        let listed: Vec<&str> = lines.filter(|line| line.starts_with("| `")).collect();
        let line = |column: &super::Column| {
            let needed = match column.need {
                Need::Required => "yes",
                Need::Optional => "no",
            };
            format!("| `{}` | {needed} | {} |", column.name, column.holds)
        };
        let expected: Vec<String> = table.columns.iter().map(line).collect();
        assert_eq!(listed, expected, "{}", table.name);
        assert!(section(table).contains(&format!("A row is {}.", table.row)));
    }
}

#[test]
fn the_description_has_the_tables_in_the_order_in_which_they_are_read() {
    let place = |table: &Table| README.find(&format!("\n## {}.csv\n", table.name));
    let places: Vec<_> = TABLES.into_iter().map(place).collect();
    assert!(places.is_sorted(), "{places:?}");
}

#[test]
fn the_description_names_every_position_kind() {
    for kind in PositionKind::ALL {
        assert!(README.contains(&format!("| `{}` |", kind.name())), "{kind}");
    }
}

#[test]
fn the_examples_of_the_description_are_an_input_that_the_register_takes() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for table in TABLES.into_iter().chain([&FORMATIONS]) {
        let file = folder.path().join(format!("{}.csv", table.name));
        std::fs::write(file, example(table)).expect("a file");
    }
    let options = Options {
        zone: Zone::UTC,
        shift_days: 0,
    };
    let input = Input::open(folder.path(), options).expect("an input");
    let mut dossier = Dossier::default();
    let actor = founder("A. Tester".parse().expect("a name"));
    let recorded_at = "2026-01-01T00:00Z".parse().expect("a time");
    let mut kinds = HashSet::new();
    for (seq, item) in (1..).map(Seq).zip(input) {
        let command = item.expect("no error").value;
        let next = Next { seq, recorded_at };
        let entry = record(&mut dossier, &actor, command, next).expect("no refusal");
        kinds.insert(entry.fact.kind());
    }
    assert_eq!(
        kinds.len(),
        15,
        "all kinds that the format can say: {kinds:?}"
    );
    crate::generate::Design::read(folder.path()).expect("a design");
}
