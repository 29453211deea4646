//! Rows that contradict others, and what is said of files that are no tables.

use super::sample::{SAMPLE, sample_folder};
use super::{errors_of, folder, read};

/// A table, what stands in it, and what stands in a further row about the same thing and moment.
const CONTRADICTING: [(&str, &str, &str); 8] = [
    (
        "cars",
        "4101,,T1,A,Tarn,Marrowby,2024-01-01",
        "4101,,T1,A,Moor,Marrowby,2024-01-01",
    ),
    (
        "units",
        "T-1,1,4101,forward,2024-01-01",
        "T-2,1,4103,forward,2024-01-01\nT-1,1,4102,forward,2024-01-01",
    ),
    (
        "conditions",
        "C7,0017,serviceable,release 4/2024,2024-05-20",
        "C7,0017,unserviceable,release 4/2024,2024-05-20",
    ),
    (
        "relocations",
        "C7,0017,Road,Marrowby store,2024-05-22,2024-05-21",
        "C7,0017,Road,Tarn store,2024-05-22,2024-05-21",
    ),
    (
        "settings",
        "4101,=BS-Q1,handle,inverted,,2024-05-02,pipe in the way",
        "4101,=BS-Q1,handle,normal,,2024-05-02,",
    ),
    (
        "plates",
        "C7,0018,0018R,replaced,2024-04-02,order 11",
        "C7,0018,0018S,misread,2024-04-02,order 11",
    ),
    (
        "visits",
        "V-1,T-1,Marrowby,2024-07-01,2024-07-03,48,M-1;M-2,2024-06-10",
        "V-1,T-1,Marrowby,2024-07-01,2024-07-04,48,M-1;M-2,2024-06-10",
    ),
    (
        "trains",
        "9001,1,T-1,,reversed,2024-06-01T04:00Z",
        "9002,1,T-1,,forward,2024-06-01T04:00Z\n9001,1,T-1,,forward,2024-06-01T04:00Z",
    ),
];

#[test]
fn two_rows_that_say_different_things_of_one_moment_are_both_named() {
    for (name, row, other) in CONTRADICTING {
        let (_, sample) = SAMPLE.iter().find(|(n, _)| *n == name).expect("a table");
        let content = format!("{sample}{other}\n");
        let place = |row: &str| {
            let row = row.lines().last().expect("a row");
            1 + content.lines().position(|line| line == row).expect("there")
        };
        // The rows of units and trains make one thing together, told by the first of them.
        let first = match name {
            "units" => 2,
            _ => place(row),
        };
        let folder = sample_folder();
        let file = folder.path().join(format!("{name}.csv"));
        std::fs::write(file, &content).expect("a file");
        let (_, errors) = read(folder.path());
        let told: Vec<String> = errors.iter().map(ToString::to_string).collect();
        let [told] = &told[..] else {
            panic!("{name}: {told:#?}");
        };
        let begin = format!("{name}.csv, row {}, column ", place(other));
        assert!(told.starts_with(&begin), "{told}");
        let other = format!("; row {first} says something else of it");
        assert!(told.ends_with(&other), "{told}");
    }
}

#[test]
fn cars_and_units_are_taken_in_the_order_of_time() {
    let folder = folder(&[
        (
            "cars.csv",
            b"car,car_type,revision,fleet,depot,since\n\
              4101,T1,A,Tarn,Tarn,2024-05-01\n\
              4102,T1,A,Tarn,Tarn,2024-01-01\n\
              4101,T1,A,Tarn,Marrowby,2024-01-01\n",
        ),
        (
            "units.csv",
            b"unit,place,car,orientation,since\n\
              T-1,1,4102,forward,2024-05-01\n\
              T-1,1,4101,forward,2024-01-01\n",
        ),
    ]);
    let (commands, errors) = read(folder.path());
    assert!(errors.is_empty(), "{errors:?}");
    let rows: Vec<&str> = commands.iter().map(|(row, _)| row.as_str()).collect();
    assert_eq!(
        rows,
        [
            "cars.csv, row 3",
            "cars.csv, row 4",
            "cars.csv, row 2",
            "units.csv, row 3",
            "units.csv, row 2",
        ]
    );
}

#[test]
fn a_line_of_a_circuit_stands_once_for_a_medium() {
    let (_, sample) = SAMPLE.iter().find(|(n, _)| *n == "lines").expect("lines");
    let row = sample.lines().nth(1).expect("a row");
    let folder = sample_folder();
    let content = format!("{sample}{row}\n");
    std::fs::write(folder.path().join("lines.csv"), content).expect("a file");
    let (_, errors) = read(folder.path());
    assert_eq!(errors.len(), 1, "{errors:?}");
    let told = errors[0].to_string();
    assert!(told.contains("each line once for a medium"), "{told}");
}

#[test]
fn every_fault_of_a_circuit_is_told_at_its_row() {
    let rewrite = |name: &str, from: &str, to: &str| {
        let (_, sample) = SAMPLE.iter().find(|(n, _)| *n == name).expect("a table");
        assert!(sample.contains(from), "{from}");
        (name.to_owned(), sample.replace(from, to))
    };
    let folder = sample_folder();
    for (name, content) in [
        rewrite("positions", "caliper,1,1,,right", "caliper,1,,,right"),
        rewrite(
            "lines",
            "=BS-V1,=BS-Q1,in,cylinder_pressure",
            "=BS-V1,=BS-Q1,in,pilot_pressure",
        ),
        rewrite("braked_weights", "=BS-C1", "=BS-Q1"),
    ] {
        std::fs::write(folder.path().join(format!("{name}.csv")), content).expect("a file");
    }
    let (_, errors) = read(folder.path());
    let told: Vec<String> = errors.iter().map(ToString::to_string).collect();
    let expected = [
        "positions.csv, row 4: node =BS-C1: an air-applied actuator needs the axle it acts on",
        "lines.csv, row 4: =BS-Q1 to =BS-C1: carries a medium that no line brings to where it \
         comes from",
        "braked_weights.csv, row 2: braked weight of =BS-Q1: that is no air-applied actuator of \
         the circuit",
    ];
    for expected in expected {
        assert!(told.iter().any(|told| told == expected), "{told:#?}");
    }
}

#[test]
fn other_separators_are_told_as_such() {
    for (content, names) in [
        ("part;title;kind\nK1;a;hose\n", "semicolons"),
        ("part\ttitle\tkind\nK1\ta\those\n", "tabulators"),
    ] {
        let errors = errors_of("parts.csv", content.as_bytes());
        let [told] = &errors[..] else {
            panic!("{errors:?}");
        };
        let expected = format!("expected commas between the columns, where {names} stand here");
        assert!(told.contains(&expected), "{told}");
    }
}

#[test]
fn a_quotation_mark_that_is_not_closed_is_told_where_it_is_opened() {
    for end in ["", "\n", "\nK3,c,hose\n"] {
        let content = format!("part,title,kind\nK1,a,hose\nK2,\"b,hose{end}");
        assert_eq!(
            errors_of("parts.csv", content.as_bytes()),
            [
                "parts.csv, row 3: a quotation mark (\") is opened here and not closed, so that \
                 all that follows in the file stands in one cell"
            ],
        );
    }
    // A last row without a line break is a row.
    assert!(errors_of("parts.csv", b"part,title,kind\nK1,\"a\",hose").is_empty());
}

#[test]
fn a_folder_without_tables_is_no_input() {
    let folder = folder(&[("notes.txt", b"nothing")]);
    let (_, errors) = read(folder.path());
    assert_eq!(errors.len(), 1, "{errors:?}");
    let told = errors[0].to_string();
    assert!(
        told.contains(": expected at least one table, of those named parts, "),
        "{told}"
    );
}
