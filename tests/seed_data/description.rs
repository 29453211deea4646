//! `seed-data/DESIGN.md` says what the files hold.

use std::path::Path;

use domain::circuit::Behaviour;
use domain::circuit::check::{Remark, check};
use domain::circuit::compiled::CompiledCircuit;
use domain::configuration::car_type::{BrakePosition, CarType, LoadState};
use domain::units::Kilograms;

use super::fleet::in_force;
use super::{car_types, folder};

/// The rows of the tables, each as the texts of its cells.
fn table_rows() -> Vec<Vec<String>> {
    let design = std::fs::read_to_string(folder().join("DESIGN.md")).unwrap();
    let rows = design.lines().filter_map(|line| {
        let cells = line.strip_prefix("| ")?.strip_suffix(" |")?;
        let text = |cell: &str| cell.trim().replace('`', "");
        Some(cells.split(" | ").map(text).collect())
    });
    rows.collect()
}

fn is_csv(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension == "csv")
}

#[test]
fn each_file_is_listed_with_the_number_of_its_rows() {
    let mut found: Vec<[String; 2]> = Vec::new();
    for entry in std::fs::read_dir(folder()).unwrap() {
        let path = entry.unwrap().path();
        if is_csv(&path) {
            let rows = std::fs::read_to_string(&path).unwrap().lines().count() - 1;
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            found.push([name, rows.to_string()]);
        }
    }
    let of_file = |row: Vec<String>| {
        let listed = is_csv(Path::new(&row[0]));
        listed.then(|| [row[0].clone(), row[1].replace(',', "")])
    };
    let mut listed: Vec<[String; 2]> = table_rows().into_iter().filter_map(of_file).collect();
    found.sort();
    listed.sort();
    assert_eq!(listed, found);
}

#[test]
fn each_cut_out_in_force_is_listed_with_its_train() {
    let states: Vec<String> = in_force()
        .iter()
        .map(|(train, cut_out)| {
            let (at, state) = (&cut_out.at, cut_out.state.name());
            format!("{train} {} {} {state}", at.car, at.position)
        })
        .collect();
    let rows = table_rows().into_iter();
    let listed: Vec<String> = rows
        .filter(|row| row.len() == 5 && row[0].starts_with('9'))
        .map(|row| row[..4].join(" "))
        .collect();
    assert_eq!(listed, states);
}

/// The cars of a formation, from its front.
fn formation(name: &str) -> Vec<&'static CarType> {
    let formations = std::fs::read_to_string(folder().join("formations.csv")).unwrap();
    let rows = formations.lines().map(|row| row.split(',').collect());
    let rows = rows.filter(|row: &Vec<&str>| row[0] == name);
    rows.map(|row| {
        let mut car_types = car_types().into_iter();
        car_types
            .find(|car_type| car_type.name.as_str() == row[2])
            .unwrap()
    })
    .collect()
}

/// Braked weight over mass in percent, with nothing cut out.
fn percentage(cars: &[&CarType], brake_position: BrakePosition, load: LoadState) -> String {
    let weights = cars.iter().flat_map(|car_type| &car_type.braked_weights);
    let assessed = weights.filter(|w| w.load == load && w.brake_position == brake_position);
    let Kilograms(braked) = assessed.map(|weight| weight.braked_weight).sum();
    let Kilograms(mass) = cars
        .iter()
        .map(|car_type| car_type.mass(load).unwrap())
        .sum();
    format!("{:.1} %", 100.0 * braked as f64 / mass as f64)
}

#[test]
fn the_brake_percentages_are_those_of_the_braked_weights_and_masses() {
    let loads = [LoadState::Minimum, LoadState::Normal, LoadState::Maximum];
    let rows = table_rows();
    let brake_position = |row: &[String]| row.get(1)?.parse::<BrakePosition>().ok();
    let mut checked = 0;
    for row in &rows {
        let Some(brake_position) = brake_position(row) else {
            continue;
        };
        let cars = formation(&row[0]);
        let expected = loads.map(|load| percentage(&cars, brake_position, load));
        assert_eq!(row[2..], expected, "{row:?}");
        checked += 1;
    }
    assert_eq!(checked, 4);
}

#[test]
fn the_parking_brakes_hold_what_is_said() {
    let design = std::fs::read_to_string(folder().join("DESIGN.md")).unwrap();
    let design = design.replace('\n', " ");
    for (name, words) in [("TM3", "the unit"), ("PC6", "the set")] {
        let cars = formation(name);
        let nodes = cars.iter().flat_map(|car_type| &car_type.circuit.nodes);
        let newtons: u32 = nodes
            .map(|node| match node.behaviour {
                Behaviour::SpringApplied { holding_force_n } => holding_force_n,
                _ => 0,
            })
            .sum();
        let mass = cars.iter().map(|c| c.mass(LoadState::Minimum).unwrap());
        let Kilograms(mass) = mass.sum();
        // Force over weight: the slope that it just balances, cut off to whole per mille.
        let per_mille = (f64::from(newtons) / (mass as f64 * 9.81) * 1_000.0).floor();
        let said = format!("{} kN for {words} ({per_mille} ‰", newtons / 1_000);
        assert!(design.contains(&said), "{said}");
    }
}

/// Left out on purpose, as their titles say: passenger alarms and places that command no other
/// car, the direct brake with what it would bring to its shuttle valve, control reservoirs.
#[test]
fn the_checker_finds_only_what_the_circuits_leave_out_on_purpose() {
    let mut found = Vec::new();
    for design in car_types() {
        for remark in check(&CompiledCircuit::new(design).unwrap()) {
            let (code, left_out) = match &remark {
                Remark::NotInCircuit(code) => (code, "left out"),
                Remark::OneInput(code) => (code, "one line"),
                other => panic!("{}: {other}", design.name),
            };
            found.push(format!("{} {code} {left_out}", design.name));
        }
    }
    assert_eq!(
        found,
        [
            "TM-T =DC-SF1 left out",
            "TM-T =DC-SF2 left out",
            "PC-L =BS-QN2 one line",
            "PC-L =BS-CM2 left out",
            "PC-L =DC-SF5 left out",
            "PC-L =DC-SF6 left out",
            "PC-C =BS-CM2 left out",
            "PC-K =BS-CM2 left out",
            "PC-D =BS-CM2 left out",
            "PC-D =DC-SF1 left out",
        ]
    );
}
