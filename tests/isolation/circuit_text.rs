//! Circuits as text: what is written reads back, and what cannot be read is named line by line.

use super::random_trains::trains;
use domain::circuit::text::CircuitText;
use domain::circuit::{Behaviour, Circuit, Line};
use proptest::prelude::*;
use tests::reference_unit::{ParkingAir, end_car, middle_car};

fn in_order(circuit: &Circuit) -> (Circuit, Vec<String>) {
    let mut nodes_only = circuit.clone();
    nodes_only.lines.clear();
    let mut lines: Vec<String> = circuit
        .lines
        .iter()
        .map(|line| format!("{line:?}"))
        .collect();
    lines.sort();
    (nodes_only, lines)
}

fn read(text: &str) -> Circuit {
    match CircuitText::read(text) {
        Ok(read) => read.circuit,
        Err(faults) => panic!("{faults:?} in\n{text}"),
    }
}

#[test]
fn the_reference_unit_reads_back_as_it_was_written() {
    for car_type in [
        end_car(48_000, 64_000, ParkingAir::MainPipe),
        middle_car(44_000, 64_000),
    ] {
        let text = car_type.circuit.to_text();
        let again = read(&text);
        assert_eq!(in_order(&again), in_order(&car_type.circuit));
        assert_eq!(again.to_text(), text);
    }
}

proptest! {
    #[test]
    fn any_circuit_reads_back_as_it_was_written(train in trains(0)) {
        for (car_type, _) in &train.cars {
            let text = car_type.circuit.to_text();
            let again = read(&text);
            prop_assert_eq!(in_order(&again), in_order(&car_type.circuit));
            prop_assert_eq!(again.to_text(), text);
        }
    }

    #[test]
    fn no_text_is_too_strange_to_be_refused(text in "[=a-zA-Z0-9:<># ,\\-\n]{0,200}") {
        // Read or refused; refused with the line.
        if let Err(faults) = CircuitText::read(&text) {
            prop_assert!(faults.iter().all(|fault| (1..=201).contains(&fault.line)));
        }
    }
}

#[test]
fn a_pipe_both_ways_is_two_lines_and_remarks_are_left_out() {
    let circuit = read(
        "# all of it\n\
         =G1 is source in service, emergency # the controller\n\
         =R1 is reservoir 57\r\n\
         =G1 <-> end1:pipe carries main_air in service,holding\n\
         =G1 -> =R1 as supply carries brake_pipe_air\n",
    );
    assert!(matches!(
        circuit.nodes[1].behaviour,
        Behaviour::Reservoir { volume_l: 57 }
    ));
    let [there, back, other] = &circuit.lines[..] else {
        panic!("{circuit:?}")
    };
    let reversed = Line {
        from: there.to.clone(),
        to: there.from.clone(),
        ..there.clone()
    };
    assert_eq!(*back, reversed);
    assert_eq!(there.modes.len(), 2);
    assert_eq!(other.input, "supply");
}

#[test]
fn what_cannot_be_read_is_named_by_its_line_with_what_was_expected() {
    for (line, expected) in [
        ("=G1 does pass", "“=CODE is …”"),
        ("G1 is pass", "in place of G1: a reference designation"),
        ("=G1 is tap", "after “is”: pass, cock"),
        ("=G1 is source", "source in MODES"),
        ("=G1 is source in servise", "in place of servise"),
        (
            "=R1 is reservoir many",
            "a whole number of litres in place of many",
        ),
        (
            "=R1 is reservoir -4",
            "a whole number of litres in place of -4",
        ),
        (
            "=R1 is spring_applied 99999999999",
            "a whole number of newtons",
        ),
        ("=G1 -> =R1", "“carries” and a medium"),
        ("=G1 -> =R1 carries steam", "in place of steam"),
        ("=G1 -> end3:pipe carries main_air", "in place of end3:pipe"),
        ("=G1 -> =R1 as Supply carries main_air", "lower case"),
        ("=G1 -> =R1 carries main_air in", "in place of"),
        ("=G1 -> =R1 carries main_air in service,", "in place of"),
    ] {
        let text = format!("=A1 is pass\n\n{line}\n");
        let Err(faults) = CircuitText::read(&text) else {
            panic!("{line} was read")
        };
        let [fault] = &faults[..] else {
            panic!("{faults:?}")
        };
        assert_eq!((fault.line, fault.found.as_str()), (3, line));
        assert!(fault.expected.contains(expected), "{line}: {fault}");
    }
}

#[test]
fn every_line_that_cannot_be_read_is_in_one_report() {
    let faults = CircuitText::read("a\nb\n=G1 is pass\nc").unwrap_err();
    let lines: Vec<usize> = faults.iter().map(|fault| fault.line).collect();
    assert_eq!(lines, [1, 2, 4]);
    let long = "=G1 is pass\n".repeat(6_000);
    let faults = CircuitText::read(&long).unwrap_err();
    assert!(
        faults[0].expected.contains("at most 5000 lines"),
        "{}",
        faults[0]
    );
}
