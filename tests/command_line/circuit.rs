//! `register circuit`: the circuit of a car type as text, and a text checked in its place.

use super::program::{Place, seed_data};

/// A register with the designs of the invented fleet.
fn designs() -> Place {
    let place = Place::fresh();
    let folder = place.path("designs");
    std::fs::create_dir(&folder).unwrap();
    for table in [
        "parts",
        "part_positions",
        "car_types",
        "axles",
        "positions",
        "lines",
        "braked_weights",
        "brake_groups",
        "cylinder_pressures",
    ] {
        let name = format!("{table}.csv");
        std::fs::copy(seed_data().join(&name), folder.join(&name)).unwrap();
    }
    let done = place.run_on_database(&["import", "designs"]);
    assert_eq!(done.code, Some(0), "{done:?}");
    place
}

#[test]
fn a_circuit_is_written_and_checks_as_it_is_and_not_with_a_slip() {
    let place = designs();
    let written = place.run_on_database(&["circuit", "TM-T", "1"]);
    assert_eq!(written.code, Some(0), "{written:?}");
    assert!(written.out.contains(" is air_applied"), "{written:?}");
    let check = |text: &str| {
        std::fs::write(place.path("circuit.txt"), text).unwrap();
        place.run_on_database(&["circuit", "TM-T", "1", "--check", "circuit.txt"])
    };
    let same = check(&written.out);
    assert_eq!(same.code, Some(0), "{same:?}");
    assert!(same.out.starts_with("It can be worked with."), "{same:?}");
    assert!(same.out.contains("doubtful: =DC-SF1"), "{same:?}");
    let slip = check(&written.out.replacen(" is air_applied", " is air_aplied", 1));
    assert_eq!(slip.code, Some(1), "{slip:?}");
    assert!(slip.out.contains("after “is”"), "{slip:?}");
    let nowhere = check(&format!("{}=NO-NE1 is pass\n", written.out));
    assert_eq!(nowhere.code, Some(1), "{nowhere:?}");
    let last = written.out.lines().count() + 1;
    assert!(
        nowhere
            .out
            .starts_with(&format!("line {last}: node =NO-NE1")),
        "{nowhere:?}"
    );
    let none = place.run_on_database(&["circuit", "TM-T", "9"]);
    assert_eq!(none.code, Some(1), "{none:?}");
    assert!(
        none.err.contains("there is no car type TM-T revision 9"),
        "{none:?}"
    );
}
