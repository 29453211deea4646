//! `register import`: all of an input or nothing.

use super::program::{GOOD, Place, seed_data};

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
    assert!(!place.path("register.sqlite").exists());
}

fn names(place: &Place) -> Vec<String> {
    let files = std::fs::read_dir(place.path("")).unwrap();
    let names = files.map(|file| file.unwrap().file_name().into_string().unwrap());
    let mut names: Vec<String> = names.collect();
    names.sort();
    names
}

#[test]
fn a_first_import_that_fails_leaves_no_database_behind() {
    let place = Place::fresh();
    let parts = "part,title,kind\nC-7,caliper,calliper\n";
    place.input("wrong", &[("parts.csv", parts)]);
    place.input("fleet", &GOOD);
    let refused = place.run_on_database(&["import", "wrong", "--zone", "CET"]);
    assert_ne!(refused.code, Some(0), "{refused:?}");
    assert_eq!(names(&place), ["fleet", "wrong"]);
    let absent = place.run_on_database(&["import", "nothing"]);
    assert_ne!(absent.code, Some(0), "{absent:?}");
    assert_eq!(names(&place), ["fleet", "wrong"]);
    // Nor did it settle the zone.
    let kept = place.run_on_database(&["import", "fleet", "--zone", "UTC"]);
    assert_eq!(kept.code, Some(0), "{kept:?}");
    assert_eq!(names(&place), ["fleet", "register.sqlite", "wrong"]);
    let again = place.run_on_database(&["import", "wrong"]);
    assert_ne!(again.code, Some(0), "{again:?}");
    assert_eq!(entries(&place), "3");
}

/// The invented fleet with the first text of one of its files replaced.
fn seed_data_with(place: &Place, file: &str, (text, other): (&str, &str)) {
    let input = place.path("fleet");
    std::fs::create_dir(&input).unwrap();
    for entry in std::fs::read_dir(seed_data()).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_owned();
        if path.extension().is_none_or(|extension| extension != "csv") {
            continue;
        }
        let mut content = std::fs::read_to_string(&path).unwrap();
        if name == file {
            assert!(content.contains(text), "{text}");
            content = content.replacen(text, other, 1);
        }
        std::fs::write(input.join(name), content).unwrap();
    }
}

#[test]
fn one_bad_cell_is_told_once_and_what_refers_to_it_is_counted() {
    let place = Place::fresh();
    let types = std::fs::read_to_string(seed_data().join("car_types.csv")).unwrap();
    let row = types.lines().nth(1).unwrap();
    let mut mass = row.split(',').filter(|cell| cell.len() == 5);
    let mass = mass.find(|cell| cell.parse::<u32>().is_ok()).unwrap();
    let (good, bad) = (format!(",{mass},"), format!(",-{mass},"));
    seed_data_with(&place, "car_types.csv", (&good, &bad));
    let refused = place.run_on_database(&["import", "fleet", "--dry-run"]);
    assert_eq!(refused.code, Some(1), "{refused:?}");
    let lines: Vec<&str> = refused.err.lines().collect();
    let [wrong, not_looked_at, total] = lines[..] else {
        panic!("{}", refused.err);
    };
    assert!(
        wrong.starts_with("car_types.csv, row 2, column "),
        "{wrong}"
    );
    assert!(
        not_looked_at.starts_with("car_types.csv, row 2: "),
        "{not_looked_at}"
    );
    let mut words = not_looked_at.split(": ").nth(1).unwrap().split(' ');
    let count: u32 = words.next().unwrap().parse().unwrap();
    assert!(1_000 < count, "{not_looked_at}");
    assert!(
        not_looked_at.ends_with("directly or through others, and were not looked at"),
        "{not_looked_at}"
    );
    assert_eq!(total, "1 error. Nothing was changed.");
}

#[test]
fn a_row_that_stands_twice_names_the_other() {
    let place = Place::fresh();
    let (parts, components) = (GOOD[0].1, GOOD[1].1);
    let row = components.lines().nth(1).unwrap();
    let other = row.replace("Marrowby", "Tarn").replace("12-001", "12-002");
    let contradicting = other.replace("Tarn", "Marrowby");
    let twice = format!("{components}{row}\n{other}\n{contradicting}\n");
    place.input("fleet", &[("parts.csv", parts), ("components.csv", &twice)]);
    let refused = place.run_on_database(&["import", "fleet"]);
    assert_eq!(refused.code, Some(1), "{refused:?}");
    for said in [
        "components.csv, row 3: components.csv, row 2, says the same; say it once\n",
        "components.csv, row 5, column serial: “C-7 serial 12-002”; expected it once; \
         components.csv, row 4, says something else of it",
    ] {
        assert!(refused.err.contains(said), "{said}: {}", refused.err);
    }
}

#[test]
fn serial_numbers_that_differ_too_little_are_named_and_kept_as_they_are() {
    let place = Place::fresh();
    let [parts, (components, rows)] = GOOD;
    let rows = format!("{rows}C-7,12001,serviceable,Marrowby store,2024-01-01\n");
    place.input("fleet", &[parts, (components, &rows)]);
    let dry = place.run_on_database(&["import", "fleet", "--dry-run"]);
    for brought in [dry, place.run_on_database(&["import", "fleet"])] {
        assert_eq!(brought.code, Some(0), "{brought:?}");
        let named = "case, blanks or hyphens";
        assert!(brought.out.contains(named), "{brought:?}");
        for serial in ["12-001", "12001"] {
            assert!(brought.out.contains(serial), "{brought:?}");
        }
    }
    assert_eq!(entries(&place), "4");
}

#[test]
fn a_folder_without_tables_is_an_error() {
    let place = Place::fresh();
    place.input("fleet", &[]);
    let refused = place.run_on_database(&["import", "fleet"]);
    assert_eq!(refused.code, Some(1), "{refused:?}");
    assert!(refused.err.contains("at least one table"), "{refused:?}");
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
        assert_eq!(names(&place), ["fleet"]);
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
