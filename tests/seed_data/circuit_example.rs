//! The circuit by which the input format is explained: one that a newcomer can begin with.

use domain::circuit::Mode;
use domain::circuit::check::check;
use domain::circuit::text::CircuitText;
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{CarType, Position};
use domain::isolation::Supply;
use domain::isolation::effect::effect;
use tests::car_type_text::car_type;
use tests::fleet::place;
use tests::reference_unit::{compiled, train};

use super::folder;

/// The text of the description that explains how a circuit is written.
fn example() -> String {
    let readme = std::fs::read_to_string(folder().join("README.md")).unwrap();
    let (_, section) = readme
        .split_once("\n## How a circuit is written\n")
        .unwrap();
    let (_, text) = section.split_once("```text\n").unwrap();
    text.split("```").next().unwrap().to_owned()
}

/// A position from its line: `=BS1-MB1 is air_applied # caliper of axle 1`.
fn position(line: &str) -> Option<Position> {
    let (code, rest) = line.split_once(" is ")?;
    let words: Vec<&str> = rest.split_once('#')?.1.split_whitespace().collect();
    let axle = words.last()?.parse().ok();
    let kind = words.first()?.parse().unwrap();
    Some(Position {
        axle,
        ..place(code, kind, &["T/1"])
    })
}

#[test]
fn the_circuit_that_explains_the_format_brakes_and_leaves_nothing_doubtful() {
    let text = example();
    let design = CarType {
        positions: text.lines().filter_map(position).collect(),
        circuit: CircuitText::read(&text).unwrap().circuit,
        ..car_type("T", "bogies 1\nmass 20000")
    };
    let circuit = compiled(&design);
    assert_eq!(check(&circuit), []);
    let train = train(&[(&circuit, Orientation::Forward)]);
    assert_eq!(train.command_places(Mode::Emergency), [0]);
    let sound = effect(&train.sound(), Mode::Emergency, Supply::Now);
    let axles = sound.counts.axles;
    assert_eq!((axles.operative, axles.total), (2, 2));
}
