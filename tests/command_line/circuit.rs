//! `register circuit`: the circuit of a car type as text, and a text checked in its place.

use super::program::{Place, seed_data};
use crate::http::sample::Served;
use tests::each_database;

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
    assert!(
        same.out.contains("what it takes cannot be told"),
        "no car is built to it: {same:?}"
    );
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

/// The shuttle valve's service input taken from it: what service braking had of bogie 1 is gone,
/// and its pilot cock takes nothing in service any more.
async fn a_changed_circuit_tells_which_cock_now_takes_which_axles(url: &str) {
    let _served = Served::with_trains(url).await;
    let place = Place::on(url);
    let written = place.run_on_database(&["circuit", "TM-DA", "1"]);
    let line = "=BS1-QM2 -> =BS1-QN2 as service carries pilot_pressure\n";
    assert!(written.out.contains(line), "{written:?}");
    let text = place.path("circuit.txt");
    std::fs::write(&text, written.out.replace(line, "")).unwrap();
    let check = ["circuit", "TM-DA", "1", "--check", text.to_str().unwrap()];
    let told = place.run_on_database(&check);
    assert_eq!(told.code, Some(0), "{told:?}");
    for expected in [
        "gone: =BS1-QM2 -> =BS1-QN2 as service carries pilot_pressure",
        "tried as car 4101 in unit TM101",
        "(brakes less)",
        "=BS1-QM2 ",
        "; takes nothing",
    ] {
        assert!(told.out.contains(expected), "{expected}: {}", told.out);
    }
    let nowhere = [&check[..], &["--formation", "unit TM999"]].concat();
    let nowhere = place.run_on_database(&nowhere);
    assert_eq!(nowhere.code, Some(1), "{nowhere:?}");
    assert!(nowhere.err.contains("TM999"), "{nowhere:?}");
}

each_database!(a_changed_circuit_tells_which_cock_now_takes_which_axles);
