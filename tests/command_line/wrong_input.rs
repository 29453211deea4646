//! Every error of an input in one report, each at its own row and column, and none twice.

use super::example::brought_in_with;
use super::program::{Place, Ran};

/// A text of a file and what stands in its place.
type Slip = (&'static str, &'static str, &'static str);

fn brought_in(slips: &[Slip]) -> Ran {
    let place = Place::fresh();
    brought_in_with(&place, |name, rows| {
        for (file, text, other) in slips {
            if *file == name {
                assert!(rows.contains(text), "{file}: {text}");
                *rows = rows.replacen(text, other, 1);
            }
        }
    })
}

/// The report of the examples with slips: its errors by file, row, column and value, and its
/// lines on what was not looked at.
fn report(slips: &[Slip]) -> (Vec<String>, Vec<String>) {
    let ran = brought_in(slips);
    assert_eq!(ran.code, Some(1), "{ran:?}");
    let mut lines: Vec<&str> = ran.err.lines().collect();
    let total = lines.pop().unwrap();
    assert!(total.ends_with("Nothing was changed."), "{ran:?}");
    let told_in_full = |line: &&str| !line.contains("not looked at");
    let (errors, not_looked_at): (Vec<&str>, Vec<&str>) = lines.into_iter().partition(told_in_full);
    let place = |error: &str| error.split(';').next().unwrap_or_default().to_owned();
    let errors = errors.into_iter().map(place).collect();
    (
        errors,
        not_looked_at.into_iter().map(str::to_owned).collect(),
    )
}

#[test]
fn a_cell_by_which_no_other_row_is_judged_masks_nothing() {
    let (errors, not_looked_at) = report(&[
        ("car_types.csv", ",31500,", ",-31500,"),
        ("cars.csv", "4103,,Example", "4103,123456789012,Example"),
        ("readings.csv", "2024-02-01", "2024-02-30"),
        (
            "fitments.csv",
            "C-7,15-00212,2024-02-16",
            "C-7,99,2024-02-16",
        ),
        ("settings.csv", "3.8 bar,made", "4.9 bar,made"),
        ("cylinder_pressures.csv", "minimum,3000,", "minimum,8200,"),
    ]);
    assert_eq!(
        errors,
        [
            "car_types.csv, row 2, column mass_minimum_kg: “-31500”",
            "cylinder_pressures.csv, row 2, column pressure_mbar: “8200”",
            "cars.csv, row 4, column vehicle_number: “123456789012”",
            "readings.csv, row 2, column at: “2024-02-30”",
            "fitments.csv, row 5, column serial: “C-7 serial 99”",
            "settings.csv, row 2, column value: “4.9 bar of pilot pressure”",
        ]
    );
    assert_eq!(not_looked_at, Vec::<String>::new());
}

/// Nothing of a car type without a length can be judged; what does not depend on it is.
#[test]
fn what_does_not_depend_on_what_is_wrong_is_told_in_the_same_report() {
    let (errors, not_looked_at) = report(&[
        ("car_types.csv", ",12000,", ",-12000,"),
        ("units.csv", "E-001,2,4102", "E-001,2,4109"),
        ("tasks_done.csv", "TRAILER-TEST,,", "TRAILER-TOST,,"),
        (
            "test_records.csv",
            "leakage of the main reservoir pipe,,0.06",
            "leakage of the brake pipe,,0.06",
        ),
        ("trains.csv", "9001,2,,4103", "9001,2,E-009,"),
        ("visits.csv", "2024-07-17", "2024-07-10"),
    ]);
    assert_eq!(
        errors,
        [
            "car_types.csv, row 2, column length_mm: “-12000”",
            "units.csv, row 3, column car: “4109”",
            "tasks_done.csv, row 3, column task: “TRAILER-TOST”",
            "test_records.csv, row 3, column measurand: “leakage of the brake pipe”",
            "trains.csv, row 3, column unit: “E-009”",
            "visits.csv, row 2, column until: “2024-07-10”",
        ]
    );
    let [rest] = &not_looked_at[..] else {
        panic!("{not_looked_at:?}");
    };
    assert!(rest.starts_with("car_types.csv, row 2: "), "{rest}");
}

#[test]
fn a_component_that_is_not_there_is_told_though_its_row_is_held_back_for_something_else() {
    let no_length = ("car_types.csv", ",12000,", ",-12000,");
    let (errors, not_looked_at) = report(&[
        no_length,
        (
            "fitments.csv",
            "C-7,15-00212,2024-02-16",
            "C-7,99,2024-02-16",
        ),
    ]);
    assert_eq!(
        errors,
        [
            "car_types.csv, row 2, column length_mm: “-12000”",
            "fitments.csv, row 5, column serial: “C-7 serial 99”",
        ]
    );
    assert!(not_looked_at[0].starts_with("car_types.csv, row 2: "));
    // One that is listed with an error of its own is not told to be unknown besides.
    let (errors, _) = report(&[
        no_length,
        (
            "components.csv",
            "C-7,15-00212,serviceable",
            "C-7,15-00212,fine",
        ),
    ]);
    assert_eq!(
        errors,
        [
            "car_types.csv, row 2, column length_mm: “-12000”",
            "components.csv, row 3, column condition: “fine”",
        ]
    );
}

/// The report of the examples with more parts, one of which takes the place of another.
fn with_later_parts(title: &'static str, parts: &'static str) -> (Vec<String>, Vec<String>) {
    report(&[
        (
            "parts.csv",
            "modification_states,reason",
            "modification_states,replaces",
        ),
        ("parts.csv", "caliper with cylinder", title),
        ("parts.csv", "brake_controller,,\n", parts),
    ])
}

#[test]
fn a_title_that_is_no_text_is_told_once_and_not_at_the_part_that_comes_after_it() {
    let later = "brake_controller,,\nC-8,later caliper,caliper,,C-7@one_way\n";
    let (errors, not_looked_at) = with_later_parts("\"caliper with\ncylinder\"", later);
    assert_eq!(
        errors,
        ["parts.csv, row 3, column title: “caliper with\u{fffd}cylinder”"]
    );
    assert_eq!(not_looked_at, Vec::<String>::new());
}

#[test]
fn an_earlier_part_that_is_not_there_is_told_in_the_column_that_names_it() {
    let later = "brake_controller,,\nC-8,later caliper,caliper,,C-77@one_way\n";
    let (errors, not_looked_at) = with_later_parts("caliper with cylinder", later);
    assert_eq!(errors, ["parts.csv, row 9, column replaces: “C-77”"]);
    assert_eq!(not_looked_at, Vec::<String>::new());
}

#[test]
fn a_part_waits_for_an_earlier_one_that_cannot_be_read() {
    let later = "brake_controller,,\nC-8,later,calliper,,\nC-9,last,caliper,,C-8@one_way\n";
    let (errors, not_looked_at) = with_later_parts("caliper with cylinder", later);
    assert_eq!(errors, ["parts.csv, row 9, column kind: “calliper”"]);
    let [rest] = &not_looked_at[..] else {
        panic!("{not_looked_at:?}");
    };
    assert!(
        rest.starts_with("parts.csv, row 9: 1 row refers to part C-8"),
        "{rest}"
    );
}

#[test]
fn another_name_of_a_position_is_not_told_to_be_wrong_where_the_day_is() {
    let (errors, _) = report(&[("isolations.csv", "2024-06-09T09:00", "2024-06-39T09:00")]);
    assert_eq!(
        errors,
        ["isolations.csv, row 3, column since: “2024-06-39T09:00+01:00”"]
    );
}

#[test]
fn an_error_is_told_where_it_stands_and_not_at_the_row_that_it_belongs_to() {
    let (errors, _) = report(&[
        ("positions.csv", "8500,V-3", "8500,V-4"),
        ("axles.csv", "A,1,2,5600", "A,1,2,2600"),
        ("procedures.csv", "2.5,2.75,=BS-C1", "2.5,2.75,=BS-C9"),
        ("part_positions.csv", ",K-10,", ",K-11,"),
    ]);
    assert_eq!(
        errors,
        [
            "part_positions.csv, row 3, column approved_parts: “K-11”",
            "axles.csv, row 3, column along_mm: “2600”",
            "positions.csv, row 3, column approved_parts: “V-4”",
        ]
    );
}

#[test]
fn what_names_a_position_or_a_task_that_is_not_there_is_refused() {
    let (errors, _) = report(&[
        ("procedures.csv", "2.5,2.75,=BS-C1", "2.5,2.75,=BS-C9"),
        ("tasks.csv", "done,overhaul,,", "done,overhaul,C7-TEST,"),
    ]);
    assert_eq!(
        errors,
        [
            "tasks.csv, row 2, column satisfies: “C7-TEST”",
            "procedures.csv, row 2, column measured_at: “=BS-C9”",
        ]
    );
    // One that stands after it is there.
    let ran = brought_in(&[(
        "tasks.csv",
        "done,overhaul,,",
        "done,overhaul,TRAILER-TEST,",
    )]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
}

#[test]
fn parts_may_stand_in_any_order() {
    let place = Place::fresh();
    let ran = brought_in_with(&place, |name, rows| {
        if name == "parts.csv" {
            let (header, parts) = rows.split_once('\n').unwrap();
            let mut parts: Vec<&str> = parts.lines().collect();
            parts.reverse();
            *rows = format!("{header}\n{}\n", parts.join("\n"));
        }
    });
    assert_eq!(ran.code, Some(0), "{ran:?}");
}

/// Slips in one cell each: a file, the text, what stands in its place, and the row, column and value
/// of the one error.
const SLIPS: [(&str, &str, &str, &str); 19] = [
    (
        "locations.csv",
        "store,store",
        "store,stor",
        "2, column kind: “stor”",
    ),
    (
        "brake_groups.csv",
        ",26000,",
        ",-26000,",
        "2, column piston_area_mm2: “-26000”",
    ),
    (
        "axles.csv",
        "A,1,2,5600",
        "A,x,2,5600",
        "3, column bogie: “x”",
    ),
    (
        "modifications.csv",
        "2024-12-31",
        "2024-13-31",
        "2, column by: “2024-13-31”",
    ),
    (
        "meter_replacements.csv",
        "181200.5",
        "-181200.5",
        "2, column last_value: “-181200.5”",
    ),
    (
        "conditions.csv",
        "15-00212,serviceable",
        "15-00212,good",
        "2, column condition: “good”",
    ),
    (
        "part_positions.csv",
        ",-K1,",
        ",K1,",
        "2, column position: “K1”",
    ),
    (
        "procedures.csv",
        "TRAILER-BT,A,brake test of the trailer,,Example trailer,own justification 8 of 2020,leak",
        "TRAILER-BT,A of this very year,brake test of the trailer,,Example trailer,own \
         justification 8 of 2020,leak",
        "3, column revision: “A of this very year”",
    ),
    (
        "components.csv",
        "C-7,15-00212",
        "C-77,15-00212",
        "3, column part: “C-77”",
    ),
    (
        "inner_fitments.csv",
        "BP-20,P-7",
        "BP-20,P-8",
        "2, column host_serial: “BP-20 serial P-8”",
    ),
    (
        "inner_fitments.csv",
        "BP-20,P-7",
        "BP-2,P-7",
        "2, column host_part: “BP-2”",
    ),
    (
        "fitments.csv",
        "R-100,101",
        "R-1,101",
        "7, column part: “R-1”",
    ),
    (
        "fitments.csv",
        "workshop,unserviceable",
        "workshop,serviceable",
        "2, column condition_after: “serviceable for what came off as failed”",
    ),
    (
        "tasks_done.csv",
        "C-7,23-00004",
        "C-70,23-00004",
        "2, column part: “C-70”",
    ),
    (
        "holds.csv",
        "C-7,12-00017",
        "C-70,12-00017",
        "2, column part: “C-70”",
    ),
    (
        "cars.csv",
        "4103,,Example trailer,A",
        "4103,,Example trailer,B",
        "4, column revision: “Example trailer revision B”",
    ),
    (
        "axles.csv",
        "A,1,2,5600",
        "B,1,2,5600",
        "3, column revision: “B”",
    ),
    (
        "visits.csv",
        "M-1;M-2",
        "M-1;M-3",
        "2, column modifications: “M-3”",
    ),
    // Neither that it began nor that it ended.
    (
        "isolations.csv",
        "4101,=BS-Q1",
        "4101,=BS-Q7",
        "2, column position: “=BS-Q7 of car 4101”",
    ),
];

#[test]
fn one_slip_is_one_error_in_its_own_column_whatever_refers_to_it() {
    for (file, text, other, told) in SLIPS {
        let (errors, _) = report(&[(file, text, other)]);
        assert_eq!(errors, [format!("{file}, row {told}")], "{other}");
    }
}

#[test]
fn what_a_procedure_does_not_measure_is_told_in_a_sentence() {
    let measured = "leakage of the main reservoir pipe,,0.06";
    let other = "leakage of the brake pipe,,0.06";
    let ran = brought_in(&[("test_records.csv", measured, other)]);
    let told = "test_records.csv, row 3, column measurand: “leakage of the brake pipe”; “leakage of \
                the brake pipe” is not measured by this procedure under that load\n";
    assert!(ran.err.contains(told), "{ran:?}");
}
