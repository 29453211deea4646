//! The description of the format for people says what the table of columns says.

use super::{FITMENTS, FORMATIONS, NAMES, Need, RULES, TABLES, Table};
use crate::input::{Input, Options};
use domain::configuration::car_type::{HandBrake, PositionKind};
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use domain::ledger::record::{Next, founder, record};
use domain::rule_set::consequence::{DestinationKind, PassengerRestriction};
use domain::rule_set::facts::{Movement, TrainKind, Whereabouts};
use domain::rule_set::requirement::{Requirement, StoppingMethod, TrainEnd};
use domain::rule_set::usual::Usual;
use domain::rule_set::{OnlyIf, Rule, RuleSet, Scope};
use domain::time::Zone;
use domain::worked::Source;
use std::collections::HashSet;
use std::path::Path;
use tempfile::TempDir;

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
fn each_column_that_names_something_is_one_of_the_format() {
    for name in NAMES {
        let has = |table: &&Table| table.place(name).is_some();
        assert!(TABLES.iter().any(has), "{name}");
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

fn names<T: Copy>(all: &[T], name: fn(T) -> &'static str) -> Vec<&'static str> {
    all.iter().copied().map(name).collect()
}

#[test]
fn the_description_names_every_word_of_a_rule() {
    let rules = section(&RULES);
    for word in [
        names(Whereabouts::ALL, Whereabouts::name),
        names(TrainKind::ALL, TrainKind::name),
        names(Movement::ALL, Movement::name),
    ]
    .concat()
    {
        assert!(rules.contains(word), "{word}");
    }
    let requirements = requirements();
    for word in [
        names(HandBrake::ALL, HandBrake::name),
        names(StoppingMethod::ALL, StoppingMethod::name),
        names(TrainEnd::ALL, TrainEnd::name),
        names(PassengerRestriction::ALL, PassengerRestriction::name),
        names(DestinationKind::ALL, DestinationKind::name),
    ]
    .concat()
    {
        assert!(requirements.contains(&format!("`{word}`")), "{word}");
    }
}

fn requirements() -> &'static str {
    let (_, section) = README.split_once("\n## Requirements\n").expect("a section");
    section.split("\n## ").next().unwrap_or(section)
}

#[test]
fn the_description_has_a_faultless_example_of_every_kind_of_requirement() {
    let blocks = requirements().split("```json\n").skip(1);
    let examples = blocks.map(|block| block.split("```").next().unwrap_or(block));
    let rule = |(n, example): (usize, &str)| Rule {
        title: format!("example {n}"),
        source: Source::CommonPractice,
        scope: Scope::default(),
        only_if: OnlyIf::default(),
        requirement: serde_json::from_str(example).expect("a requirement"),
    };
    let rules: Vec<Rule> = examples.enumerate().map(rule).collect();
    let kind = |rule: &Rule| match rule.requirement {
        Requirement::Always(_) => 1,
        Requirement::Bands(_) => 2,
        Requirement::Table(_) => 3,
        Requirement::Stopping(_) => 4,
        Requirement::EndVehicle(_) => 5,
        Requirement::Adjacent(_) => 6,
        Requirement::Holding(_) => 7,
        Requirement::Equipment(_) => 8,
        Requirement::Dragging(_) => 9,
        Requirement::SlideProtection(_) => 10,
    };
    let kinds: HashSet<_> = rules.iter().map(kind).collect();
    assert_eq!(kinds.len(), 10);
    let set = RuleSet {
        name: "R1".parse().expect("a name"),
        revision: "A".parse().expect("a revision"),
        issuer: "Examples".to_owned(),
        note: "figures of an example".to_owned(),
        valid_from: "2020-01-01".parse().expect("a day"),
        valid_until: None,
        scope: Scope::default(),
        usual: Usual::default(),
        rules,
        agreed: None,
    };
    assert_eq!(set.check(), []);
}

/// The examples of the description as a folder.
fn examples() -> TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for table in TABLES.into_iter().chain([&FORMATIONS]) {
        let file = folder.path().join(format!("{}.csv", table.name));
        std::fs::write(file, example(table)).expect("a file");
    }
    folder
}

/// The kinds of the entries that a register makes of a folder, which it must take as it is.
fn recorded(folder: &Path) -> HashSet<&'static str> {
    let options = Options {
        zone: Zone::UTC,
        shift_days: 0,
    };
    let input = Input::open(folder, options).expect("an input");
    let mut dossier = Dossier::default();
    let actor = founder("A. Tester".parse().expect("a name"));
    let recorded_at = "2026-01-01T00:00Z".parse().expect("a time");
    let mut kinds = HashSet::new();
    for (seq, item) in (1..).map(Seq).zip(input) {
        let command = item.expect("no error").value;
        let next = Next { seq, recorded_at };
        let entry = record(&mut dossier, &actor, command, next).expect("no refusal");
        kinds.insert(entry.fact.kind().name());
    }
    kinds
}

#[test]
fn the_examples_of_the_description_are_an_input_that_the_register_takes() {
    let folder = examples();
    let kinds = recorded(folder.path());
    assert_eq!(
        kinds.len(),
        27,
        "all kinds that the format can say: {kinds:?}"
    );
    crate::generate::Design::read(folder.path()).expect("a design");
}

#[test]
fn fitments_may_stand_in_any_order() {
    let folder = examples();
    let (header, rows) = example(&FITMENTS).split_once('\n').expect("rows");
    let mut rows: Vec<&str> = rows.lines().collect();
    for _ in 0..rows.len() {
        rows.rotate_left(1);
        for rows in [rows.clone(), rows.iter().rev().copied().collect()] {
            let content = format!("{header}\n{}\n", rows.join("\n"));
            std::fs::write(folder.path().join("fitments.csv"), content).expect("a file");
            recorded(folder.path());
        }
    }
}
