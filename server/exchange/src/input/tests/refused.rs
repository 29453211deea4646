//! What is refused, and what is said about it.

use super::sample::{SAMPLE, sample_folder};
use super::{errors_of, folder, options, read};
use crate::columns::{Need, table};
use crate::input::Input;

/// The sample's table with a cell changed in its first row.
fn changed(name: &str, column: &str, value: &str) -> Vec<u8> {
    let (_, content) = SAMPLE.iter().find(|(n, _)| *n == name).expect("a table");
    let mut reader = csv::Reader::from_reader(content.as_bytes());
    let mut header = reader.headers().expect("a header").clone();
    let mut rows: Vec<Vec<String>> = reader
        .records()
        .map(|row| row.expect("a row").iter().map(str::to_owned).collect())
        .collect();
    let place = header.iter().position(|h| h == column).unwrap_or_else(|| {
        header.push_field(column);
        for row in &mut rows {
            row.push(String::new());
        }
        header.len() - 1
    });
    value.clone_into(&mut rows[0][place]);
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(&header).expect("memory");
    for row in &rows {
        writer.write_record(row).expect("memory");
    }
    writer.into_inner().expect("memory")
}

/// What is said of the sample with one cell changed.
fn errors_with(name: &str, column: &str, value: &str) -> Vec<String> {
    let folder = sample_folder();
    let file = folder.path().join(format!("{name}.csv"));
    std::fs::write(file, changed(name, column, value)).expect("a file");
    read(folder.path())
        .1
        .iter()
        .map(ToString::to_string)
        .collect()
}

/// A file, a column, a wrong cell in its first row, and what is said to be expected.
const WRONG_CELLS: &str = "parts|kind|valv|one of isolating_cock
parts|part|K10 |no blanks at the beginning or end
part_positions|part|P3|a part that parts lists
part_positions|vacancy|no|one of finding, forbidden
inner_fitments|position|Q1|a reference designation
fitments|position|label 8|a position code of the car, or another of its names
isolations|position|label 8|a position code of the car, or another of its names
concessions|setting|handle|nothing where a part is named
concessions|part||the part that is allowed there; else setting
plates|cause|worn|one of replaced, misread
visits|hours|0|whole hours from 1 to 20000
car_types|length_mm|-20000|a whole number from 1 to 100000
car_types|length_mm|20000.5|a whole number from 1 to 100000
car_types|mass_minimum_kg|-1|a whole number from 0 to 500000
car_types|mass_minimum_kg|500001|a whole number from 0 to 500000
car_types|mass_normal_kg|29999|at least the 30000 kg of mass_minimum_kg
car_types|mass_maximum_kg|29999|at least the 30000 kg of mass_minimum_kg
car_types|mass_minimum_kg|1e308|a whole number from 0 to 500000
car_types|mass_minimum_kg|NaN|a whole number from 0 to 500000
car_types|speed_max_km_h|99999999999999999999|a whole number from 1 to 500
axles|axle|0|a whole number from 1 to 40
axles|car_type|T2|a car type and revision that car_types lists
positions|position|BS-G1|a reference designation
positions|behaviour|tank|source, pass, cock, reservoir
positions|venting|yes|nothing unless the behaviour is cock
positions|aliases|label 7|a name and its source
positions|bogie|5|a bogie that axles lists
positions|settings|pressure@8.5 bar@8.6 to 9|the one wanted between them
positions|approved_parts|R4;;R5|a part number; nothing was given
lines|from|end3:main_pipe|one of end1, end2
lines|to|=BS-X9|a position that positions lists
lines|input|Pilot 1|lower case letters and underscores
braked_weights|load|full|one of minimum, normal, maximum
car_types|wheel_worn_mm|921|no more than wheel_new_mm
car_types|wheel_worn_mm||both wheel_new_mm and wheel_worn_mm
car_types|demand_sharing|shared|one of not_shared, over_the_train
car_types|adhesion_max_thousandths|0.15|a whole number from 1 to 500
brake_groups|positions|=BS-C1;=BS-C1|each position in one group, once
brake_groups|positions|=BS-X9|positions that positions lists
brake_groups|acts_on|wheel|disc or tread
brake_groups|acts_on|tread|nothing unless acts_on is disc
brake_groups|friction_radius_mm||only for a disc, and needed there
brake_groups|piston_area_mm2|0|a whole number from 1 to 1000000
brake_groups|efficiency_thousandths|1001|a whole number from 1 to 1000
cylinder_pressures|group|pads|a group that brake_groups lists
cylinder_pressures|pressure_mbar|3.8|a whole number from 0 to 20000
cylinder_pressures|brake_position|X|one of P, R, G, EP
tasks|months|0|a whole number from 1 to 1200
tasks|km|0|more than 0
tasks|days|30|either days or months
tasks|days_late|30|nothing while days is empty
tasks|car_type|T1|either a part or a car type
procedures|role|value|one of result, condition
procedures|lower|3|bounds need a lower or an upper value
procedures|upper|1e3|a number with at most nine digits
procedures|part|C7|either a part or a car type
rule_sets|approved_by|Reed|another person than the one who proposed it
rule_sets|valid_until|2029-13-01|a date that exists
rule_sets|train_kinds|commuter;goods|one of commuter, short_distance
rules|rule_set|R2|a rule set and revision that rule_sets lists
rules|rule|2|1: the rules of a set are numbered 1, 2, 3 in their rows
rules|source_kind|law|published, operator or common_practice
rules|source||where the rule comes from
rules|source_kind|common_practice|nothing where it is common practice
rules|movements|moving|one of in_service
rules|faster_than_km_h|1e2|a number with at most nine digits
rules|in_season|10-01|the first and the last day of a part of the year
rules|on_routes|a/b|letters, digits
rules|requirement|always|a requirement in JSON
modifications|state||with part: the modification state
modifications|car_type|T1|nothing where a part is named
modifications|cars|4105 to 4103|cars by their numbers or from one to another
concessions|until|soon|a date
concessions|risk||why the risk is accepted
cars|vehicle_number|218124712174|check digit
cars|since|2024-02-30|a date that exists
units|place|3|each of 1 to 2 once
units|orientation|left|one of forward, reversed
meter_replacements|last_value|-0.5|a number from 0 to 100000000
readings|value|1e308|a number from 0 to 100000000
readings|at|2024-02-01T10:00|a time with its offset
components|condition|new|one of serviceable
components|manufactured_on|02.05.2019|a date that exists
components|batch|-|at least one letter or digit
fitments|until|2024-01-02|a time after from
fitments|until||nothing while until is empty
fitments|removed_to||with until: a store
conditions|condition|good|one of serviceable
conditions|at|20.05.2024|a date that exists
settings|value|nine bar|a number with its unit
settings|at|noon|a date
relocations|to|  |no blanks at the beginning or end
embodied|car|4101|either a component, in part and serial, or a car
tasks_done|car|4101|either a component, in part and serial, or a car
test_records|value|5,5|a number with at most nine digits
test_records|part|C7|either a component, in part and serial, or a car
test_records|calibrated_until|2024|a date that exists
trains|car|4101|either a unit or a car
isolations|until|2024-06-02|a time after since
isolations|proved_by||with until: the test record
isolations|not_before|2024-06-03|a time not after since
isolations|cause|   |words, not only blanks
fleet_checks|answer|good|one of sound, defective, not_carried
fleet_checks|answer||nothing while answer is empty
holds|car|4101|either a component, in part and serial, or a car
holds|investigation||what is investigated and for whom";

#[test]
fn a_car_that_a_check_asks_twice_is_named_where_it_stands_again() {
    let errors = errors_with("fleet_checks", "car", "4102");
    let expected = "fleet_checks.csv, row 3, column car: “4102”; expected each car once in a check";
    assert_eq!(errors, [expected]);
}

#[test]
fn each_wrong_cell_is_named_with_its_file_row_column_value_and_what_was_expected() {
    for case in WRONG_CELLS.lines() {
        let [name, column, value, expected] = *case.split('|').collect::<Vec<_>>() else {
            panic!("{case} is no case");
        };
        let errors = errors_with(name, column, value);
        let about = format!("{name} with {column} {value:?}: {errors:#?}");
        assert!(errors.iter().any(|e| e.contains(expected)), "{about}");
        assert!(
            errors[0].starts_with(&format!("{name}.csv, row 2, column ")),
            "{about}"
        );
        let own = errors
            .iter()
            .filter(|e| e.starts_with(&format!("{name}.csv, row 2")))
            .count();
        assert_eq!(own, 1, "one slip, one error, but {about}");
    }
}

#[test]
fn every_required_cell_is_missed_when_it_is_empty() {
    for (name, _) in SAMPLE {
        let columns = table(name).expect("a table").columns.iter();
        for column in columns.filter(|column| column.need == Need::Required) {
            let errors = errors_with(name, column.name, "");
            let place = format!("{name}.csv, row 2, column {}: nothing there", column.name);
            assert!(
                errors.iter().any(|e| e.starts_with(&place)),
                "{place}: {errors:#?}"
            );
        }
    }
}

#[test]
fn every_error_of_a_row_and_of_the_whole_input_is_reported() {
    let folder = folder(&[
        ("parts.csv", b"part,title,kind\n,,x\nK1,a,hose\nK2,b,x\n"),
        (
            "cars.csv",
            b"car,car_type,revision,fleet,depot,since\n1,,A,F,D,x\n",
        ),
    ]);
    let (commands, errors) = read(folder.path());
    let places: Vec<String> = errors
        .iter()
        .map(|e| format!("{} {}", e.location, e.column.as_deref().unwrap_or("")))
        .collect();
    let expected = [
        "parts.csv, row 2 part",
        "parts.csv, row 2 title",
        "parts.csv, row 2 kind",
        "parts.csv, row 4 kind",
        "cars.csv, row 2 car_type",
        "cars.csv, row 2 since",
    ];
    assert_eq!(places, expected);
    assert_eq!(commands.len(), 1);
}

#[test]
fn a_header_says_all_that_is_wrong_with_it() {
    let errors = errors_of("parts.csv", b"part,part,name,kind\nK1,K1,a,hose\n");
    assert_eq!(errors.len(), 3, "{errors:#?}");
    assert!(
        errors[0].contains("“part”; expected each column once"),
        "{errors:#?}"
    );
    assert!(
        errors[1].contains("“name”; expected in the header row only"),
        "{errors:#?}"
    );
    assert!(
        errors[2].contains("column title: nothing there"),
        "{errors:#?}"
    );
}

#[test]
fn a_header_error_does_not_hide_the_errors_of_other_files() {
    let folder = folder(&[("parts.csv", b"part\nK1\n"), ("cars.csv", b"car\n1\n")]);
    let (_, errors) = read(folder.path());
    let of = |file: &str| errors.iter().filter(|e| e.location.file == file).count();
    assert_eq!((of("parts.csv"), of("cars.csv")), (2, 5));
}

#[test]
fn rows_with_more_or_fewer_cells_than_the_header_are_named() {
    let errors = errors_of(
        "parts.csv",
        b"part,title,kind\nK1,a\nK2,a,hose,x\nK3,a,hose\n",
    );
    let expected = [
        "parts.csv, row 2: the row has 2 cells; expected 3 cells, as in the header row",
        "parts.csv, row 3: the row has 4 cells; expected 3 cells, as in the header row",
    ];
    assert_eq!(errors, expected);
}

#[test]
fn a_file_of_an_unknown_name_is_named_and_not_passed_over() {
    let folder = folder(&[
        ("part.csv", b"part\n"),
        ("vehicles.csv", b"car\n"),
        ("Parts.CSV", b"part\n"),
        ("test-records.csv", b"part\n"),
    ]);
    let (_, errors) = read(folder.path());
    let told: Vec<(&str, &str)> = errors
        .iter()
        .map(|e| (e.location.file.as_str(), e.expected.as_str()))
        .collect();
    assert_eq!(told.len(), 4, "{told:?}");
    assert_eq!(told[0], ("Parts.CSV", "the name parts, to the letter"));
    assert_eq!(told[1], ("part.csv", "the name parts, to the letter"));
    assert_eq!(
        told[2],
        ("test-records.csv", "the name test_records, to the letter")
    );
    assert_eq!(told[3].0, "vehicles.csv");
    assert!(
        told[3]
            .1
            .starts_with("only tables named parts, part_positions, car_types")
    );
}

#[test]
fn a_path_that_is_neither_a_folder_nor_a_workbook_is_refused() {
    let folder = folder(&[("list.txt", b"words")]);
    let open = |name: &str| Input::open(&folder.path().join(name), options()).err();
    for name in ["list.txt", "missing"] {
        let error = open(name).expect("refused");
        assert_eq!(error.expected, "a folder of CSV files, or an XLSX workbook");
        assert_eq!(error.location.file, name);
    }
}

#[test]
fn the_rows_of_a_procedure_agree_and_name_each_measurand_once() {
    let header = "procedure,revision,title,part,car_type,source,measurand,role,unit,lower\n";
    let errors = |second: &str| {
        let rows = format!("{header}P,A,t,,T1,s,pressure,result,bar,1\n{second}\n");
        errors_of("procedures.csv", rows.as_bytes())
    };
    let other_title = errors("P,A,u,,T1,s,leakage,result,bar,1");
    let expected = "procedures.csv, row 3, column title: “u”; expected “t”, as in the first row";
    assert_eq!(other_title, [expected]);
    let twice = errors("P,A,t,,T1,s,pressure,result,bar,1");
    assert_eq!(twice.len(), 1);
    assert!(twice[0].contains("“pressure” stands twice"), "{twice:?}");
}

#[test]
fn a_unit_whose_rows_do_not_stand_together_is_refused() {
    let errors = errors_of(
        "units.csv",
        b"unit,place,car,orientation,since\n\
          U1,1,1,forward,2024-01-01\nU2,1,3,forward,2024-01-01\nU1,2,2,forward,2024-01-01\n",
    );
    let expected = "units.csv, row 4, column place: “2”; \
                    expected each of 1 to 1 once, in rows that follow";
    assert_eq!(errors, [expected]);
}

#[test]
fn axles_that_could_not_be_read_are_not_missed_by_each_position() {
    let folder = sample_folder();
    std::fs::write(folder.path().join("axles.csv"), "car_type,axel\n").expect("a file");
    let (_, errors) = read(folder.path());
    let files: Vec<&str> = errors.iter().map(|e| &*e.location.file).collect();
    assert!(files.iter().all(|file| *file == "axles.csv"), "{errors:?}");
}

#[test]
fn a_position_bogie_or_weight_listed_twice_is_refused() {
    let twice = |name: &str| {
        let folder = sample_folder();
        let (_, content) = SAMPLE.iter().find(|(n, _)| *n == name).expect("a table");
        let last = content.lines().last().expect("a row");
        let file = folder.path().join(format!("{name}.csv"));
        std::fs::write(file, format!("{content}{last}\n")).expect("a file");
        let (_, errors) = read(folder.path());
        errors
            .iter()
            .map(|e| e.expected.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(twice("car_types"), ["each revision of a car type once"]);
    assert_eq!(twice("axles"), ["each axle of a car type once"]);
    assert_eq!(twice("positions"), ["each position of a car type once"]);
    assert_eq!(
        twice("braked_weights"),
        ["each position once for a brake position and load"]
    );
    assert_eq!(twice("brake_groups"), ["each position in one group, once"]);
    assert_eq!(
        twice("cylinder_pressures"),
        ["each group once for a brake position and load"]
    );
}

#[test]
fn a_car_type_with_an_error_in_one_of_its_tables_gives_no_command() {
    let folder = sample_folder();
    let lines = changed("lines", "medium", "steam");
    std::fs::write(folder.path().join("lines.csv"), lines).expect("a file");
    let (commands, errors) = read(folder.path());
    assert_eq!(errors.len(), 1);
    assert!(
        commands
            .iter()
            .all(|(_, c)| c.fact.kind().name() != "car_type_defined")
    );
}
