//! `register import`: all of an input or nothing.

use super::program::{GOOD, Place};

/// The number of entries, as the proof of the chain says it.
fn entries(place: &Place) -> String {
    let proven = place.run_on_database(&["verify"]);
    assert_eq!(proven.code, Some(0), "{proven:?}");
    let words = proven.out.split_whitespace();
    words
        .skip_while(|word| *word != "holds:")
        .nth(1)
        .unwrap()
        .to_owned()
}

#[test]
fn an_input_is_brought_in_once_however_often_it_is_given() {
    let place = Place::fresh();
    place.input("fleet", &GOOD);
    let first = place.run_on_database(&["import", "fleet"]);
    assert_eq!(first.code, Some(0), "{first:?}");
    assert_eq!(first.out, "3 entries recorded, 0 were there before.\n");
    let second = place.run_on_database(&["import", "fleet"]);
    assert_eq!(second.code, Some(0), "{second:?}");
    assert_eq!(second.out, "0 entries recorded, 3 were there before.\n");
    assert_eq!(entries(&place), "3");
}

#[test]
fn a_dry_run_checks_and_changes_nothing() {
    let place = Place::fresh();
    place.input("fleet", &GOOD);
    let checked = place.run_on_database(&["import", "fleet", "--dry-run"]);
    assert_eq!(checked.code, Some(0), "{checked:?}");
    assert!(
        checked.out.contains("3 entries would be recorded"),
        "{checked:?}"
    );
    assert_eq!(entries(&place), "0");
}

#[test]
fn one_error_keeps_everything_out_and_every_error_is_in_one_report() {
    let place = Place::fresh();
    let (parts, components) = (GOOD[0].1, GOOD[1].1);
    place.input(
        "fleet",
        &[
            ("parts.csv", &parts.replace("caliper\n", "calliper\n")),
            // A part that the register does not know is found only there.
            (
                "components.csv",
                &format!("{components}H-1,1,serviceable,Marrowby store,2024-01-01\n"),
            ),
            ("cars.csv", "car,car_type,revision,fleet,depot\n1,T,A,F,D\n"),
        ],
    );
    for arguments in [
        ["import", "fleet"].as_slice(),
        &["import", "fleet", "--dry-run"],
    ] {
        let refused = place.run_on_database(arguments);
        assert_eq!(refused.code, Some(1), "{refused:?}");
        assert_eq!(refused.out, "");
        for said in [
            "parts.csv, row 3, column kind: “calliper”; expected one of isolating_cock",
            "components.csv, row 3, column part: “H-1”; expected a part that is in the register",
            "cars.csv, row 1, column since: nothing there; expected a column since",
            "errors. Nothing was changed.",
        ] {
            assert!(refused.err.contains(said), "{said}: {}", refused.err);
        }
        assert_eq!(entries(&place), "0");
    }
}

#[test]
fn what_is_no_input_is_named() {
    let place = Place::fresh();
    let refused = place.run_on_database(&["import", "nowhere"]);
    assert_eq!(refused.code, Some(1), "{refused:?}");
    assert!(refused.err.contains("nowhere"), "{refused:?}");
    assert!(
        refused
            .err
            .contains("expected a folder of CSV files, or an XLSX workbook"),
        "{refused:?}"
    );
    assert!(
        refused.err.ends_with("1 error. Nothing was changed.\n"),
        "{refused:?}"
    );
}
