//! What rows say.

use super::sample::sample_folder;
use super::{facts_of, folder, options, read};
use crate::columns::{TABLES, reading_order};
use crate::input::{Input, Options};
use domain::circuit::{Behaviour, Mode};
use domain::configuration::car::{Orientation, Vehicle};
use domain::configuration::car_type::{BrakePosition, CarType, LoadState, PositionKind};
use domain::configuration::component::Subject;
use domain::configuration::component::{Condition, RemovalReason};
use domain::due::obligation::Touching;
use domain::due::task::{AppliesTo, CountsFrom, Interval};
use domain::identity::PartNumber;
use domain::ledger::fact::Fact;
use domain::units::{Amount, Kilograms, Meter};

pub(super) fn sample_facts() -> Vec<Fact> {
    let folder = sample_folder();
    let (commands, errors) = read(folder.path());
    assert_eq!(errors, []);
    commands
        .into_iter()
        .map(|(_, command)| command.fact)
        .collect()
}

pub(super) fn only<T>(mut found: impl Iterator<Item = T>) -> T {
    let first = found.next().expect("one");
    assert!(found.next().is_none(), "more than one");
    first
}

pub(super) fn sample_car_type() -> CarType {
    only(sample_facts().into_iter().filter_map(|fact| match fact {
        Fact::CarTypeDefined(car_type) => Some(*car_type),
        _ => None,
    }))
}

#[test]
fn facts_come_in_an_order_in_which_each_builds_on_those_before_it() {
    let folder = sample_folder();
    let (commands, _) = read(folder.path());
    let file = |place: &str| place.split(',').next().map_or(0, reading_order);
    let files: Vec<usize> = commands.iter().map(|(place, _)| file(place)).collect();
    assert!(files.is_sorted(), "{files:?}");
    let kinds: Vec<&str> = commands.iter().map(|(_, c)| c.fact.kind().name()).collect();
    let expected = [
        "part_defined",
        "part_defined",
        "part_defined",
        "part_defined",
        "car_type_defined",
        "task_defined",
        "task_defined",
        "procedure_defined",
        "rule_set_issued",
        "modification_issued",
        "modification_issued",
        "concession_granted",
        "concession_granted",
        "concession_granted",
        "car_registered",
        "car_registered",
        "unit_formed",
        "meter_replaced",
        "reading_taken",
        "reading_taken",
        "location_defined",
        "component_received",
        "component_received",
        "condition_judged",
        "plate_changed",
        "fitted",
        "fitted",
        "fitted",
        "relocated",
        "setting_made",
        "setting_made",
        "embodied",
        "embodied",
        "task_done",
        "task_done",
        "test_recorded",
        "train_formed",
        "isolated",
        "isolation_ended",
        "isolated",
        "visit_planned",
        "fleet_check_opened",
        "held_as_evidence",
    ];
    assert_eq!(kinds, expected);
}

#[test]
fn a_car_type_is_gathered_from_its_tables() {
    let car_type = sample_car_type();
    let bogies: Vec<(u8, Vec<u8>)> = car_type
        .bogies
        .iter()
        .map(|b| (b.number, b.axles.iter().map(|axle| axle.number).collect()))
        .collect();
    assert_eq!(bogies, [(1, vec![1, 2]), (2, vec![3])]);
    assert_eq!(car_type.mass(LoadState::Minimum), Some(Kilograms(30_000)));
    assert_eq!(car_type.mass(LoadState::Normal), None);
    assert_eq!(car_type.usual_brake_position, Some(BrakePosition::R));
    let codes: Vec<&str> = car_type.positions.iter().map(|p| p.code.as_str()).collect();
    assert_eq!(codes, ["=BS-G1", "=BS-Q1", "=BS-C1", "=BS-V1"]);
    let behaviours: Vec<&Behaviour> = car_type
        .circuit
        .nodes
        .iter()
        .map(|n| &n.behaviour)
        .collect();
    let modes = vec![Mode::Service, Mode::Emergency];
    let expected = [
        &Behaviour::Reservoir { volume_l: 100 },
        &Behaviour::Cock { venting: true },
        &Behaviour::AirApplied,
        &Behaviour::Source {
            modes: modes.clone(),
        },
    ];
    assert_eq!(behaviours, expected);
    assert_eq!(car_type.circuit.lines.len(), 3);
    assert_eq!(car_type.circuit.lines[2].modes, modes);
    assert_eq!(car_type.braked_weights.len(), 1);
}

#[test]
fn a_position_keeps_its_aliases_with_their_sources_and_its_approved_parts() {
    let car_type = sample_car_type();
    let cock = &car_type.positions[1];
    let aliases: Vec<(&str, &str)> = cock
        .aliases
        .iter()
        .map(|a| (a.name.as_str(), a.source.as_str()))
        .collect();
    assert_eq!(aliases, [("label 7", "car label"), ("12.3", "drawing")]);
    let approved: Vec<&str> = car_type.positions[2]
        .approved
        .iter()
        .map(PartNumber::as_str)
        .collect();
    assert_eq!(approved, ["C7", "C8"]);
}

#[test]
fn a_task_has_the_limits_whose_columns_are_filled() {
    let tasks: Vec<_> = sample_facts()
        .into_iter()
        .filter_map(|fact| match fact {
            Fact::TaskDefined(task) => Some(task),
            _ => None,
        })
        .collect();
    let limits: Vec<_> = tasks[0]
        .limits
        .iter()
        .map(|l| (l.interval, l.early, l.late))
        .collect();
    let km = Interval::Usage(Meter::Odometer, Amount(1_200_000_500));
    assert_eq!(limits, [(Interval::Months(96), 0, 30), (km, 1_000_000, 0)]);
    assert_eq!(tasks[0].satisfies.len(), 2);
    assert!(tasks[0].obligations.is_empty());
    let after: Vec<_> = tasks[1].obligations.iter().map(|one| one.after).collect();
    let exchanged = Touching::Exchanged(PositionKind::RelayValve);
    assert_eq!(after, [exchanged, Touching::Coupled]);
    assert_eq!(
        tasks[1].applies_to,
        AppliesTo::CarType("T1".parse().expect("a name"))
    );
    assert_eq!(tasks[1].counts_from, CountsFrom::DuePoint);
}

#[test]
fn the_cars_of_a_unit_stand_in_the_order_of_their_places() {
    let unit = only(sample_facts().into_iter().filter_map(|fact| match fact {
        Fact::UnitFormed(unit) => Some(unit),
        _ => None,
    }));
    let cars: Vec<_> = unit
        .cars
        .iter()
        .map(|c| (c.car.as_str(), c.orientation))
        .collect();
    let expected = [
        ("4101", Orientation::Forward),
        ("4102", Orientation::Reversed),
    ];
    assert_eq!(cars, expected);
}

#[test]
fn a_train_is_made_of_units_and_single_cars() {
    let train = only(sample_facts().into_iter().filter_map(|fact| match fact {
        Fact::TrainFormed(train) => Some(train),
        _ => None,
    }));
    let unit = Vehicle::Unit("T-1".parse().expect("a unit"), Orientation::Reversed);
    let car = Vehicle::Car("4103".parse().expect("a car"), Orientation::Forward);
    assert_eq!(train.vehicles, [unit, car]);
}

#[test]
fn a_fitment_that_ended_says_when_why_where_to_and_in_which_condition() {
    let fitting = sample_facts().into_iter().find_map(|fact| match fact {
        Fact::Fitted(fitting) => fitting.ended,
        _ => None,
    });
    let ended = fitting.expect("one of the fitments ended");
    assert_eq!(ended.at.to_string(), "2024-05-01T07:30:00Z");
    assert_eq!(ended.removal.reason, RemovalReason::Failed);
    assert_eq!(ended.removal.to.as_str(), "Marrowby workshop");
    assert_eq!(ended.removal.condition, Condition::Unserviceable);
}

#[test]
fn what_a_component_brought_with_it_is_unknown_where_the_cell_is_empty() {
    let receipts: Vec<_> = sample_facts()
        .into_iter()
        .filter_map(|fact| match fact {
            Fact::ComponentReceived(receipt) => Some(receipt),
            _ => None,
        })
        .collect();
    assert_eq!(receipts[0].brought.odometer, Some(Amount::whole(51_000)));
    assert_eq!(receipts[0].brought.running_hours, None);
    assert!(receipts[1].brought.is_unknown());
    assert_eq!(receipts[1].manufactured_on, None);
    let batch = |n: usize| receipts[n].batch.as_ref().map(ToString::to_string);
    assert_eq!((batch(0).as_deref(), batch(1)), (Some("L19-2"), None));
    assert_eq!(receipts[0].component.serial.as_str(), "0017");
}

#[test]
fn work_is_done_on_a_component_or_on_a_car() {
    let subjects: Vec<String> = sample_facts()
        .into_iter()
        .filter_map(|fact| match fact {
            Fact::TaskDone { subject, .. } => Some(subject),
            _ => None,
        })
        .map(|subject: Subject| subject.to_string())
        .collect();
    assert_eq!(subjects, ["C7 serial 0018", "car 4101"]);
}

#[test]
fn an_isolation_that_ended_is_two_commands_from_one_row() {
    let folder = sample_folder();
    let (commands, _) = read(folder.path());
    let of_row: Vec<_> = commands
        .iter()
        .filter(|(place, _)| place == "isolations.csv, row 2")
        .map(|(_, command)| (command.fact.kind().name(), command.effective_at.to_string()))
        .collect();
    let expected = [
        ("isolated", "2024-06-02T00:00:00Z".to_owned()),
        ("isolation_ended", "2024-06-03T00:00:00Z".to_owned()),
    ];
    assert_eq!(of_row, expected);
}

#[test]
fn the_same_input_twice_gives_the_same_identities_and_each_fact_its_own() {
    let folder = sample_folder();
    let ids = || -> Vec<_> { read(folder.path()).0.iter().map(|(_, c)| c.id).collect() };
    let first = ids();
    assert_eq!(first, ids());
    let mut different = first.clone();
    different.sort_unstable();
    different.dedup();
    assert_eq!(different.len(), first.len());
}

#[test]
fn the_identity_of_a_command_is_that_of_its_fact_and_time_wherever_the_row_stands() {
    let id = |content: &str| {
        let folder = folder(&[("readings.csv", content.as_bytes())]);
        read(folder.path()).0.last().map(|(_, command)| command.id)
    };
    let alone = id("car,meter,value,at\n1,odometer,5,2024-01-01\n");
    let elsewhere = id("at,value,meter,car,reason\n\
                        2024-01-02,9,odometer,2,\n2024-01-01T01:00+01:00,5.0,odometer,1,seen\n");
    assert_eq!(alone, elsewhere);
    assert_ne!(alone, id("car,meter,value,at\n1,odometer,5,2024-01-02\n"));
}

#[test]
fn the_reason_of_a_row_becomes_the_reason_of_the_command() {
    let folder = sample_folder();
    let (commands, _) = read(folder.path());
    let reasons: Vec<&str> = commands
        .iter()
        .filter(|(place, _)| place.starts_with("components"))
        .map(|(_, command)| command.reason.as_str())
        .collect();
    assert_eq!(reasons, ["taken over", ""]);
}

#[test]
fn a_shift_moves_every_date_of_an_invented_history_but_not_its_design() {
    let folder = sample_folder();
    let times = |shift_days| -> Vec<_> {
        let options = Options {
            shift_days,
            ..options()
        };
        let input = Input::open(folder.path(), options).expect("an input");
        input.map(|item| item.expect("no error").value).collect()
    };
    for (plain, shifted) in times(0).iter().zip(times(10)) {
        let days = plain.effective_at.days_until(shifted.effective_at);
        let design = [
            "part_defined",
            "car_type_defined",
            "task_defined",
            "procedure_defined",
            "rule_set_issued",
        ];
        let expected = if design.contains(&plain.fact.kind().name()) {
            0.0
        } else {
            10.0
        };
        assert!(
            (days - expected).abs() < 1e-9,
            "{} moved {days}",
            plain.fact.kind().name()
        );
    }
}

#[test]
fn quotation_marks_commas_and_line_ends_of_windows_are_read() {
    let facts = facts_of(
        "parts.csv",
        "\u{feff}title,part,kind\r\n\"cock, 1/2\"\" bore\",K1,isolating_cock\r\n",
    );
    let [Fact::PartDefined(part)] = facts.as_slice() else {
        panic!("{facts:?}");
    };
    assert_eq!(part.title, "cock, 1/2\" bore");
}

#[test]
fn rows_are_counted_as_a_spreadsheet_counts_them() {
    for line_end in ["\n", "\r\n"] {
        let content = "part,title,kind\n\nK1,a,hose\n,,\n\nK2,b,hose".replace('\n', line_end);
        let folder = folder(&[("parts.csv", content.as_bytes())]);
        let (commands, errors) = read(folder.path());
        assert_eq!(errors, []);
        let places: Vec<&str> = commands.iter().map(|(place, _)| place.as_str()).collect();
        assert_eq!(places, ["parts.csv, row 3", "parts.csv, row 6"]);
    }
}

#[test]
fn files_that_are_no_tables_and_the_formations_of_the_generator_are_passed_over() {
    let folder = folder(&[
        ("README.md", b"words"),
        ("formations.csv", b"anything"),
        ("parts.csv", b"part,title,kind\nK1,a,hose\n"),
    ]);
    let (commands, errors) = read(folder.path());
    assert_eq!((commands.len(), errors.len()), (1, 0));
}

#[test]
fn the_hint_counts_the_rows_of_all_tables() {
    let folder = sample_folder();
    let input = Input::open(folder.path(), options()).expect("an input");
    assert_eq!(input.rows_total_hint(), Some(65));
}

#[test]
fn every_table_of_the_format_is_in_the_sample() {
    let names: Vec<&str> = super::sample::SAMPLE
        .iter()
        .map(|(name, _)| *name)
        .collect();
    let tables: Vec<&str> = TABLES.iter().map(|table| table.name).collect();
    assert_eq!(names, tables);
}
