//! What rows say of modifications, checks of the fleet and what is held.

use super::facts::{only, sample_facts};
use super::sample::{SAMPLE, sample_folder};
use super::{errors_of, facts_of, folder, options};
use crate::input::{Input, Names, Refers};
use crate::report::Report;
use domain::configuration::concession::Allowed;
use domain::configuration::fleet_check::{CARS_MAX, CarAnswer};
use domain::configuration::looked_for::{BatchSought, LookedFor};
use domain::configuration::setting::SettingHow;
use domain::identity::CarNumber;
use domain::ledger::fact::Fact;

#[test]
fn a_check_of_the_fleet_keeps_its_cars_and_what_they_had_answered() {
    let check = only(sample_facts().into_iter().filter_map(|fact| match fact {
        Fact::FleetCheckOpened(check) => Some(*check),
        _ => None,
    }));
    let cars: Vec<&str> = check.cars.iter().map(CarNumber::as_str).collect();
    assert_eq!(cars, ["4101", "4102"]);
    let answered = only(check.answered.iter());
    assert_eq!(answered.car.as_str(), "4101");
    assert_eq!(answered.answer, CarAnswer::Defective);
    assert_eq!(answered.remark, "crack of 4 mm");
}

/// A check that asks as many cars.
fn check_of(cars: usize) -> String {
    let header = "title,instruction,looked_for,answer_by,since,car\n";
    let rows = (0..cars).map(|car| {
        let number = 10_000 + car;
        format!("hoses,look at each,part K10,2026-04-30,2026-03-01,{number}\n")
    });
    std::iter::once(header.to_owned()).chain(rows).collect()
}

#[test]
fn a_check_asks_as_many_cars_as_a_check_on_a_page_may() {
    let facts = facts_of("fleet_checks.csv", &check_of(CARS_MAX));
    let Fact::FleetCheckOpened(check) = only(facts.into_iter()) else {
        panic!("no check of the fleet");
    };
    assert_eq!(check.cars.len(), CARS_MAX);
    let errors = errors_of("fleet_checks.csv", check_of(CARS_MAX + 1).as_bytes());
    let row = CARS_MAX + 2;
    assert_eq!(
        errors,
        [format!(
            "fleet_checks.csv, row {row}: expected at most {CARS_MAX} rows that belong together"
        )]
    );
}

#[test]
fn a_check_looks_for_serial_numbers_or_for_a_batch() {
    let header = "title,instruction,looked_for,part,serials_begin,batch,answer_by,since,car\n";
    let check = |sought: &str| {
        format!("{header}hoses,look at each,by label,{sought},2026-04-30,2026-03-01,4101\n")
    };
    let sought = |cells: &str| {
        let mut facts = facts_of("fleet_checks.csv", &check(cells)).into_iter();
        match facts.next() {
            Some(Fact::FleetCheckOpened(check)) => check.sought,
            other => panic!("{other:?}"),
        }
    };
    let part = || "H1".parse().expect("a part");
    let batch = LookedFor::Batch {
        part: part(),
        batch: BatchSought::Is("L24-07".parse().expect("a batch")),
    };
    assert_eq!(sought("H1,,L24-07"), Some(batch));
    let serials = |begins: &str| LookedFor::Serials {
        part: part(),
        begins: begins.to_owned(),
    };
    assert_eq!(sought("H1,24,"), Some(serials("24")));
    assert_eq!(sought("H1,,"), Some(serials("")));
    for (cells, expected) in [
        ("H1,24,L24-07", "nothing where serials_begin is filled"),
        (",,L24-07", "nothing while part is empty"),
    ] {
        let error = format!("fleet_checks.csv, row 2, column batch: “L24-07”; expected {expected}");
        assert_eq!(
            errors_of("fleet_checks.csv", check(cells).as_bytes()),
            [error]
        );
    }
}

#[test]
fn a_concession_is_for_a_part_or_for_a_setting() {
    let allows: Vec<Allowed> = sample_facts()
        .into_iter()
        .filter_map(|fact| match fact {
            Fact::ConcessionGranted(concession) => Some(concession.allows),
            _ => None,
        })
        .collect();
    let part = Allowed::Part("C9".parse().expect("a part"));
    let handle = || "handle".parse().expect("a setting");
    let (setting, outside) = (
        Allowed::Setting(handle()),
        Allowed::SettingOutOfRange(handle()),
    );
    assert_eq!(allows, [part, setting, outside]);
    let of_part = "concession,cars,position,part,outside_range,risk,until,since\n\
                   C-1,4101,=BS-C1,C9,yes,checked,2024-12-31,2024-03-01\n";
    assert_eq!(
        errors_of("concessions.csv", of_part.as_bytes()),
        [
            "concessions.csv, row 2, column outside_range: “yes”; expected nothing where no setting is named"
        ]
    );
}

#[test]
fn a_setting_was_made_or_found() {
    let how: Vec<SettingHow> = sample_facts()
        .into_iter()
        .filter_map(|fact| match fact {
            Fact::SettingMade(made) => Some(made.how),
            _ => None,
        })
        .collect();
    assert_eq!(how, [SettingHow::Made, SettingHow::Found]);
}

#[test]
fn a_visit_keeps_what_is_to_be_embodied_during_it() {
    let visit = only(sample_facts().into_iter().filter_map(|fact| match fact {
        Fact::VisitPlanned(visit) => Some(*visit),
        _ => None,
    }));
    assert_eq!((visit.unit.as_str(), u32::from(visit.hours)), ("T-1", 48));
    assert_eq!(visit.modifications.len(), 2);
}

/// The codes of the positions that are cut out, of an input.
fn cut_out(input: Input) -> Vec<String> {
    let facts = input.map(|item| item.expect("no error").value.fact);
    let codes = facts.filter_map(|fact| match fact {
        Fact::Isolated(cut_out) => Some(cut_out.at.position.to_string()),
        _ => None,
    });
    codes.collect()
}

#[test]
fn a_position_is_named_by_any_name_that_is_of_it_alone_in_the_input_or_the_register() {
    let (_, isolations) = SAMPLE
        .iter()
        .find(|(name, _)| *name == "isolations")
        .expect("a table");
    let isolations =
        isolations.replace("4101,=BS-Q1,closed_trapped", "4101,Label 7,closed_trapped");
    let sample = sample_folder();
    std::fs::write(sample.path().join("isolations.csv"), &isolations).expect("a file");
    let input = Input::open(sample.path(), options()).expect("an input");
    assert_eq!(cut_out(input), ["=BS-Q1", "=BS-Q1"]);

    // Where its car type cannot be read, that alone is told.
    let types = SAMPLE[2].1.replace("inside", "somewhere");
    std::fs::write(sample.path().join("car_types.csv"), types).expect("a file");
    let mut report = Report::default();
    for item in Input::open(sample.path(), options()).expect("an input") {
        match item {
            Ok(located) => drop(report.looked_at(Refers::of(&located))),
            Err(unread) => drop(report.unread(unread)),
        }
    }
    let told: Vec<&str> = report
        .errors()
        .iter()
        .map(|error| error.location.file.as_str())
        .collect();
    assert_eq!(told, ["car_types.csv"]);

    // The car and its type are in the register already.
    let alone = folder(&[("isolations.csv", isolations.as_bytes())]);
    let unknown = errors_of("isolations.csv", isolations.as_bytes());
    assert_eq!(unknown.len(), 1, "{unknown:?}");
    assert!(unknown[0].contains("a car that is known"));
    let mut documents = domain::ledger::dossier::Documents::default();
    let mut cars = Vec::new();
    for fact in sample_facts() {
        match fact {
            Fact::CarTypeDefined(car_type) => {
                let car_type = std::sync::Arc::new(*car_type);
                documents.put_car_type(domain::ledger::entry::Seq(1), car_type);
            }
            Fact::CarRegistered(car) => cars.push((car, None)),
            _ => {}
        }
    }
    let input = Input::open(alone.path(), options()).expect("an input");
    let input = input.beside(Names::of(documents, cars));
    assert_eq!(cut_out(input), ["=BS-Q1", "=BS-Q1"]);
}

#[test]
fn a_modification_is_of_the_components_of_a_part_or_of_cars() {
    let scopes: Vec<String> = sample_facts()
        .into_iter()
        .filter_map(|fact| match fact {
            Fact::ModificationIssued(modification) => Some(modification.scope.to_string()),
            _ => None,
        })
        .collect();
    assert_eq!(
        scopes,
        [
            "components of part C7, to modification state B, at =BS-C1",
            "cars 4101, 4103 to 4105 of type T1",
        ]
    );
}
