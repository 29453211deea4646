//! The examples by which the input format is explained, brought in as a newcomer would.

use super::program::{Place, Ran, seed_data};

/// The rows under each table of the description, as files.
fn examples() -> Vec<(String, String)> {
    let readme = std::fs::read_to_string(seed_data().join("README.md")).unwrap();
    let sections = readme.split("\n## ").skip(1);
    let examples = sections.filter_map(|section| {
        let (heading, rest) = section.split_once('\n')?;
        let (_, rows) = rest.split_once("```csv\n")?;
        let rows = rows.split("```").next()?;
        let table = heading.strip_suffix(".csv")?;
        Some((format!("{table}.csv"), rows.to_owned()))
    });
    examples.collect()
}

/// Brings the examples in, one of their files changed.
fn brought_in(place: &Place, changed: &str, change: impl Fn(&str) -> String) -> Ran {
    brought_in_with(place, |name, rows| {
        if name == changed {
            *rows = change(rows);
        }
    })
}

/// Brings the examples in, with whatever is changed in their files.
pub(super) fn brought_in_with(place: &Place, change: impl Fn(&str, &mut String)) -> Ran {
    let mut files = examples();
    assert!(files.len() > 30, "{}", files.len());
    for (name, rows) in &mut files {
        change(name, rows);
    }
    let files: Vec<(&str, &str)> = files
        .iter()
        .map(|(n, r)| (n.as_str(), r.as_str()))
        .collect();
    place.input("example", &files);
    place.run_on_database(&["import", "example", "--zone", "CET"])
}

fn decided(place: &Place, supposed: &[&str]) -> String {
    let decided = place.run_on_database(&[&["decide", "--train", "9001"], supposed].concat());
    assert_eq!(decided.code, Some(0), "{decided:?}");
    decided.out
}

#[test]
fn the_example_of_the_format_comes_in_and_its_train_gets_a_verdict() {
    let place = Place::fresh();
    let came_in = brought_in(&place, "", str::to_owned);
    assert_eq!(came_in.code, Some(0), "{came_in:?}");
    let told = decided(&place, &[]);
    assert!(
        told.contains("MAY RUN WITH RESTRICTIONS by Example rules revision A"),
        "{told}"
    );
    assert!(told.contains("4 of 6 axles"), "{told}");
    // Any name of a position will do.
    let by_label = decided(&place, &["--close", "4101:b7:closed_vented"]);
    assert!(
        by_label.contains("MAY NOT RUN by Example rules"),
        "{by_label}"
    );
    assert!(by_label.contains("2 of 6 axles"), "{by_label}");
    let no_label = ["decide", "--train", "9001", "--close", "4101:B8:open"];
    let refused = place.run_on_database(&no_label);
    assert_ne!(refused.code, Some(0), "{refused:?}");
    assert!(
        refused
            .err
            .contains("for “B8” a position code of the car, or another of its names"),
        "{refused:?}"
    );
    let database = place.database();
    let asks = ["ask", "--database", &database, "--train", "9001"];
    let closing = place.run(&[&asks[..], &["closing", "4101", "B7"]].concat());
    assert_eq!(closing.code, Some(0), "{closing:?}");
}

#[test]
fn what_is_refused_is_told_by_the_depots_clock_with_the_row_that_stands_against_it() {
    let place = Place::fresh();
    let lower = |rows: &str| format!("{rows}4101,odometer,9000,2024-03-21,\n");
    let refused = brought_in(&place, "readings.csv", lower);
    assert_ne!(refused.code, Some(0), "{refused:?}");
    for said in [
        "readings.csv, row 4, column value: “9000”",
        "9000 km at 2024-03-21 00:00 +01:00 is less than 9300 km at 2024-03-20 00:00 +01:00",
        "The other value stands in readings.csv, row 3, of this input.",
    ] {
        assert!(refused.err.contains(said), "{said}: {refused:?}");
    }
}

#[test]
fn an_error_is_not_told_again_with_what_is_called_by_another_name() {
    let place = Place::fresh();
    let semicolons = |rows: &str| rows.replace(',', ";");
    let refused = brought_in(&place, "cars.csv", semicolons);
    assert!(
        refused.err.contains("expected commas between the columns"),
        "{refused:?}"
    );
    assert!(
        refused.err.ends_with("1 error. Nothing was changed.\n"),
        "{refused:?}"
    );

    let place = Place::fresh();
    let negative = |rows: &str| rows.replace(",31500,", ",-31500,");
    let refused = brought_in(&place, "car_types.csv", negative);
    assert!(
        refused
            .err
            .contains("mass_minimum_kg: “-31500”; expected a whole number from 0"),
        "{refused:?}"
    );
    assert!(
        refused.err.ends_with("1 error. Nothing was changed.\n"),
        "{refused:?}"
    );
}
