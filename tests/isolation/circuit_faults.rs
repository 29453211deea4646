//! Circuits that are refused, each with the node or line that is wrong.

use domain::circuit::compiled::CompiledCircuit;
use domain::configuration::car_type::CarType;
use tests::car_type_text::{car_type, read};

const SOUND: &str = "
    bogies 1
    =G1 source always
    =R1 reservoir
    =K1 all_of
    =C1 air axle=1 weight=8000
    =S1 spring=20000 bogie=1
    =G1 > =R1 main_air
    =R1 > supply@=K1 main_air
    =K1 > =C1 cylinder_pressure
    =R1 > =S1 main_air
";

fn faults(car_type: &CarType) -> Vec<String> {
    match CompiledCircuit::new(car_type) {
        Ok(_) => Vec::new(),
        Err(faults) => faults.iter().map(ToString::to_string).collect(),
    }
}

fn faults_with(more: &str) -> Vec<String> {
    faults(&car_type("T", &format!("{SOUND}{more}")))
}

#[test]
fn a_sound_circuit_has_no_fault() {
    assert_eq!(faults_with(""), Vec::<String>::new());
}

/// Asserts the only fault that more text makes.
fn assert_fault(more: &str, expected: &str) {
    assert_eq!(faults_with(more), [expected], "{more}");
}

#[test]
fn a_line_that_cannot_be_is_named_with_its_ends() {
    let no_position = "the car type has no position =Q9";
    for (more, fault) in [
        ("=R1 > =Q9 main_air", no_position),
        ("=Q9 > =R1 main_air", no_position),
        (
            "=C1 > end1:pipe cylinder_pressure",
            "comes from an actuator, which passes nothing on",
        ),
        (
            "=R1 > =G1 main_air",
            "goes into a source, which heeds no input; an all-of does",
        ),
        (
            "=R1 > end1:pipe parking_air",
            "carries a medium that no line brings to where it comes from",
        ),
    ] {
        let words: Vec<&str> = more.split(' ').collect();
        let name = format!("line 5 ({} to {})", words[0], words[2]);
        assert_fault(more, &format!("{name}: {fault}"));
    }
}

#[test]
fn a_node_without_an_input_is_named() {
    for node in ["all_of", "any_of", "air axle=2", "spring=1000"] {
        assert_fault(&format!("=N1 {node}"), "node =N1: no line goes into it");
    }
}

#[test]
fn an_actuator_needs_an_axle_that_is_there() {
    let fed = "=K1 > =N1 cylinder_pressure";
    let no_such = "node =N1: the car type has no such axle on that bogie";
    for (node, fault) in [
        (
            "air",
            "node =N1: an air-applied actuator needs the axle it acts on",
        ),
        ("air axle=3", no_such),
        ("air axle=1 bogie=2", no_such),
        ("spring=1000 bogie=2", no_such),
    ] {
        assert_fault(&format!("=N1 {node}\n{fed}"), fault);
    }
}

#[test]
fn a_value_that_cannot_be_is_named_with_what_could_be() {
    let fed = "=K1 > =N1 cylinder_pressure";
    for (node, fault) in [
        (
            "spring=0",
            "holding force in newtons 0; expected 1 to 1000000",
        ),
        (
            "spring=4000000000",
            "holding force in newtons 4000000000; expected 1 to 1000000",
        ),
        (
            "air axle=1 weight=-1",
            "braked weight in kilograms -1; expected 0 to 500000",
        ),
    ] {
        assert_fault(&format!("=N1 {node}\n{fed}"), &format!("=N1: {fault}"));
    }
}

#[test]
fn a_braked_weight_belongs_to_an_air_applied_actuator() {
    let fault = "braked weight of =F1: that is no air-applied actuator of the circuit";
    assert_fault("=F1 pass weight=10", fault);
}

#[test]
fn a_position_described_twice_or_not_at_all_is_a_fault() {
    let mut twice = car_type("T", SOUND);
    let node = twice.circuit.nodes[1].clone();
    twice.circuit.nodes.push(node);
    assert_eq!(
        faults(&twice),
        ["node =R1: described twice; a position has one behaviour"]
    );

    let mut without = car_type("T", &format!("{SOUND} =F1 pass\n =G1 > =F1 main_air"));
    without.circuit.nodes.retain(|n| n.position != read("=F1"));
    assert_eq!(
        faults(&without),
        ["line 5 (=G1 to =F1): position =F1 has no node; describe what it does with air"]
    );

    let mut no_position = car_type("T", &format!("{SOUND} =F1 pass"));
    no_position.positions.retain(|p| p.code != read("=F1"));
    assert_eq!(
        faults(&no_position),
        ["node =F1: the car type has no such position"]
    );
}

#[test]
fn a_braked_weight_given_twice_is_a_fault() {
    let mut twice = car_type("T", SOUND);
    let weight = twice.braked_weights[0].clone();
    twice.braked_weights.push(weight);
    assert_eq!(
        faults(&twice),
        ["braked weight of =C1: given twice for one brake position and load"]
    );
}

#[test]
fn every_fault_is_told_at_once() {
    assert_eq!(faults_with("=K2 all_of\n =Q8 > =Q9 main_air").len(), 3);
}

#[test]
fn more_inputs_than_a_node_can_have_are_refused_without_panic() {
    let lines: Vec<String> = (0..40)
        .map(|i| format!("=G1 > i{i}@=K1 main_air"))
        .collect();
    let faults = faults_with(&lines.join("\n"));
    assert!(
        faults
            .iter()
            .all(|f| f == "node =K1: more than 32 named inputs")
    );
    assert!(!faults.is_empty());
}
