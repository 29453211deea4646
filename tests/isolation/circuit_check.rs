//! What the checker finds doubtful, in circuits that can be evaluated, and which cock takes which
//! axles before and after a change.

use domain::circuit::Mode;
use domain::circuit::check::{check, check_against};
use domain::configuration::car::Orientation;
use domain::configuration::car_type::PositionKind;
use domain::isolation::CutOutState::{ClosedVented, SupplyCut};
use domain::isolation::takes::{Closed, Takes, each_takes, takes_otherwise};
use std::collections::BTreeMap;
use tests::car_type_text::car_type;
use tests::reference_unit::{ParkingAir, compiled, end_car, middle_car, train};

/// A car with a controller, a compressor, and one bogie braked through a venting cock.
pub(super) const SOUND: &str = "
    bogies 1
    mass 20000
    =A1 source service+emergency kind=brake_controller
    =G1 source always kind=compressor
    =R1 reservoir
    =K1 all_of kind=relay_valve
    =Q1 venting_cock
    =C1 air axle=1 weight=8000
    =C2 air axle=2 weight=8000
    =G1 > =R1 main_air
    =R1 > supply@=K1 main_air
    =A1 > demand@=K1 electrical_demand
    =K1 > =Q1 cylinder_pressure
    =Q1 > =C1 cylinder_pressure
    =Q1 > =C2 cylinder_pressure
";

pub(super) fn remarks(text: &str) -> Vec<String> {
    let remarks = check(&compiled(&car_type("T", text)));
    remarks.iter().map(ToString::to_string).collect()
}

#[test]
fn a_sound_circuit_is_left_alone() {
    assert_eq!(remarks(SOUND), Vec::<String>::new());
    for design in [
        end_car(48_000, 64_000, ParkingAir::SupplyBranch),
        middle_car(44_000, 64_000),
    ] {
        assert_eq!(check(&compiled(&design)), []);
    }
}

#[test]
fn what_is_doubtful_is_named_with_its_code() {
    for (more, expected) in [
        (
            "=X1 pass\n=C3 air axle=1 weight=1\n=X1 > =C3 cylinder_pressure\n\
             end1:pipe > =X1 cylinder_pressure\nend1:pipe > =X1 main_air\n=G2 source emergency\n\
             =Z1 all_of\n=G2 > one@=Z1 electrical_demand\nend2:wire > two@=Z1 electrical_demand service\n\
             =C4 air axle=1 weight=1\n=Z1 > =C4 cylinder_pressure",
            vec![
                "=C4: no air reaches it in service nor in emergency, with everything open",
                "=G2: a demand to brake begins there, and no train is commanded from it; a place of \
                 command is a brake_controller or an emergency_valve",
            ],
        ),
        (
            "=P1 spring=20000 axle=1\n=G3 source holding\n=G3 > =P1 parking_air",
            vec![
                "=P1: no air releases it while running, with everything open",
                "=P1: air keeps it released in holding; it never holds",
            ],
        ),
        (
            "=Y1 any_of\n=R1 > =Y1 main_air\n=Y1 > =C1 cylinder_pressure",
            vec![
                "=Y1: one line leads into it; a shuttle valve has two or more",
                "=C1: air reaches it though nothing asks for braking; no demand stands in its way",
            ],
        ),
        (
            "=F1 pass kind=filter\n=R1 > =F1 main_air",
            vec!["=F1: lines lead into it and none out of it"],
        ),
        (
            "=R1 > =C1 main_air",
            vec![
                "=C1: air reaches it though nothing asks for braking; no demand stands in its way",
                "line =R1 to =C1: carries main air to what works with cylinder pressure",
            ],
        ),
        (
            "=Q2 cock\n=R1 > =Q2 main_air\n=Q2 > supply@=K1 main_air",
            vec!["=Q2: isolates nothing; whatever lies behind it is also reached by other ways"],
        ),
    ] {
        assert_eq!(remarks(&format!("{SOUND}{more}")), expected, "{more}");
    }
}

#[test]
fn what_brakes_unasked_is_named() {
    let unasked = |code: &str| {
        format!(
            "{code}: air reaches it though nothing asks for braking; no demand stands in its way"
        )
    };
    // The relay valve without its pilot, by name and by what its lines carry.
    let alone = SOUND.replace("=A1 > demand@=K1 electrical_demand", "");
    assert_eq!(
        remarks(&alone),
        [
            "=K1: only its input supply has a line into it; a relay valve waits for a pilot \
             besides its supply"
                .to_owned(),
            unasked("=C1"),
            unasked("=C2"),
        ]
    );
    let supplied = alone + "=R1 > second@=K1 main_air";
    assert_eq!(
        remarks(&supplied),
        [
            "=K1: no line brings it a pilot pressure or a demand; it passes its supply all the time"
                .to_owned(),
            unasked("=C1"),
            unasked("=C2"),
        ]
    );
}

#[test]
fn a_medium_that_a_loop_of_pipe_makes_of_another_is_named() {
    let more = "=F1 pass kind=filter\n=F2 pass kind=gauge\n=R1 > =F1 main_air\n\
                =F1 > =F2 pilot_pressure\n=F2 > =F1 pilot_pressure";
    assert_eq!(
        remarks(&format!("{SOUND}{more}")),
        [
            "line =F1 to =F2: carries pilot pressure, which never comes to where it begins",
            "line =F2 to =F1: carries pilot pressure, which never comes to where it begins",
        ]
    );
}

/// A pilot line through a hose, and a load sensor on its air spring.
const PILOTED: &str = "
    =X1 source emergency kind=emergency_valve
    =H1 pass kind=hose
    =N1 all_of kind=magnet_valve
    =R1 > supply@=N1 main_air
    =A1 > demand@=N1 electrical_demand
    =N1 > =H1 pilot_pressure
    =H1 > pilot@=K1 pilot_pressure
    =S1 pass kind=load_sensor
    =R1 > =S1 main_air
";

#[test]
fn what_another_revision_had_otherwise_is_named() {
    let before = car_type("T", &format!("{SOUND}{PILOTED}"));
    let against = |text: &str| -> Vec<String> {
        let circuit = compiled(&car_type("T", text));
        let remarks = check_against(&circuit, &before);
        remarks.iter().map(ToString::to_string).collect()
    };
    let same = format!("{SOUND}{PILOTED}");
    assert_eq!(against(&same), Vec::<String>::new());
    let other = same
        .replace("=N1 > =H1 pilot_pressure", "=N1 > =H1 main_air")
        .replace("pilot@=K1 pilot_pressure", "pilot@=K1 main_air");
    assert_eq!(
        against(&other),
        [
            "line =N1 to =H1: carries main air, where it carried pilot pressure",
            "line =H1 to =K1: carries main air, where it carried pilot pressure",
        ]
    );
    let without = same.replace("=R1 > =S1 main_air", "");
    assert_eq!(
        against(&without),
        ["=S1: no line leads to its input in any more"]
    );
    let doubtful = remarks(&without);
    assert!(
        doubtful.contains(
            &"=S1: nothing ever reaches it; the brake control has no load signal of it".to_owned()
        ),
        "{doubtful:?}"
    );
}

#[test]
fn what_changes_is_told_of_load_signals_too() {
    let takes = |text: &str| {
        let circuit = compiled(&car_type("T", text));
        each_takes(&train(&[(&circuit, Orientation::Forward)]), 0).unwrap()
    };
    let before = format!("{SOUND}{PILOTED}");
    let after = before.replace(
        "=R1 > =S1 main_air",
        "=Q9 cock\n=R1 > =Q9 main_air\n=Q9 > =S1 main_air",
    );
    let changed = takes_otherwise(&takes(&before), &takes(&after));
    let [cock] = &changed[..] else {
        panic!("{changed:?}");
    };
    assert_eq!(cock.position.as_str(), "=Q9");
    let (_, with_revision) = cock.after.as_ref().unwrap();
    assert!(with_revision.brakes.is_empty());
    let signals: Vec<&str> = with_revision
        .load_signals
        .iter()
        .map(|(_, code)| code.as_str())
        .collect();
    assert_eq!(signals, ["=S1"]);
}

#[test]
fn an_input_that_nothing_comes_through_is_named() {
    let found = remarks(&format!(
        "{SOUND}=N1 all_of\n=N1 > third@=K1 pilot_pressure\n=X1 pass\n=X1 > one@=N1 main_air\n\
         =X2 cock\n=X2 > =X1 main_air\n=X1 > =X2 main_air"
    ));
    let never = |what: &str| found.iter().any(|remark| remark.starts_with(what));
    assert!(
        never("=N1: nothing ever comes through its input one"),
        "{found:?}"
    );
    assert!(
        never("=K1: nothing ever comes through its input third"),
        "{found:?}"
    );
    assert!(never("=C1: no air reaches it"), "{found:?}");
}

#[test]
fn a_position_that_the_circuit_leaves_out_is_named() {
    let mut design = car_type("T", &format!("{SOUND}=F9 pass kind=filter"));
    design
        .circuit
        .nodes
        .retain(|node| node.position.as_str() != "=F9");
    let found = check(&compiled(&design));
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].to_string(), "=F9: has no place in the circuit");
}

#[test]
fn a_place_where_nothing_may_be_fitted_is_named() {
    let mut design = car_type("T", SOUND);
    let mut positions = design.positions.iter_mut();
    let cock = positions.find(|position| position.code.as_str() == "=Q1");
    cock.unwrap().approved.clear();
    let found = check(&compiled(&design));
    assert_eq!(found.len(), 1, "{found:?}");
    let says = "=Q1: no part is approved there; it stays empty, and delivers nothing";
    assert_eq!(found[0].to_string(), says);
}

#[test]
fn what_belongs_inside_an_assembly_its_part_says() {
    let mut design = car_type("T", &SOUND.replace("=Q1", "=P1-Q1"));
    let mut positions = design.positions.iter_mut();
    let cock = positions.find(|position| position.code.as_str() == "=P1-Q1");
    let cock = cock.unwrap();
    let mut panel = cock.clone();
    panel.code = "=P1".parse().unwrap();
    panel.kind = PositionKind::ControlPanel;
    cock.approved.clear();
    design.positions.push(panel);
    assert_eq!(check(&compiled(&design)), []);
}

#[test]
fn a_demand_from_what_is_no_place_of_command_is_named() {
    let panel = SOUND.replace("kind=brake_controller", "kind=control_panel");
    let found = remarks(&panel);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].starts_with("=A1: a demand to brake begins there, and no train is commanded"),
        "{found:?}"
    );
}

#[test]
fn what_a_cock_takes_is_told_and_what_a_change_of_the_circuit_changes() {
    let takes = |text: &str| {
        let circuit = compiled(&car_type("T", text));
        each_takes(&train(&[(&circuit, Orientation::Forward)]), 0).unwrap()
    };
    let before = takes(SOUND);
    let of = |takes: &BTreeMap<Closed, Takes>, code: &str, mode: Mode| -> Vec<Option<u8>> {
        let mut found = takes.iter();
        let found = found.find(|((position, _), _)| position.as_str() == code);
        let in_mode = found.and_then(|(_, all)| all.brakes.get(&mode));
        in_mode.into_iter().flatten().map(|one| one.axle).collect()
    };
    assert_eq!(of(&before, "=Q1", Mode::Service), [Some(1), Some(2)]);
    assert_eq!(of(&before, "=C2", Mode::Emergency), [Some(2)]);
    // A second cock, so that each takes one axle.
    let split = SOUND.replace("=Q1 > =C2", "=Q2 > =C2");
    let after = takes(&format!(
        "{split}=Q2 venting_cock\n=K1 > =Q2 cylinder_pressure"
    ));
    assert_eq!(of(&after, "=Q1", Mode::Service), [Some(1)]);
    let changed = takes_otherwise(&before, &after);
    let codes: Vec<&str> = changed.iter().map(|one| one.position.as_str()).collect();
    assert_eq!(codes, ["=Q1", "=Q2"]);
    assert!(changed[1].before.is_none() && changed[1].after.is_some());
    assert_eq!(takes_otherwise(&after, &after), []);
}

#[test]
fn a_position_that_closes_otherwise_is_told_once_with_both_states() {
    let takes = |text: &str| {
        let circuit = compiled(&car_type("T", text));
        each_takes(&train(&[(&circuit, Orientation::Forward)]), 0).unwrap()
    };
    let after = SOUND.replace("=Q1 venting_cock", "=Q1 cock");
    let changed = takes_otherwise(&takes(SOUND), &takes(&after));
    let [cock] = &changed[..] else {
        panic!("{changed:?}");
    };
    let ((before, took), (after, takes)) =
        (cock.before.as_ref().unwrap(), cock.after.as_ref().unwrap());
    assert_eq!(cock.position.as_str(), "=Q1");
    assert_eq!((*before, *after), (ClosedVented, SupplyCut));
    // The same brakes, which a cock that does not vent may leave on.
    let brakes = |takes: &Takes, stay_on: bool| -> Vec<String> {
        let out = takes.brakes[&Mode::Service].iter();
        let out = out.inspect(|one| assert_eq!(one.may_drag, stay_on));
        out.map(|one| one.position.to_string()).collect()
    };
    assert_eq!(brakes(took, false), ["=C1", "=C2"]);
    assert_eq!(brakes(takes, true), brakes(took, false));
}

#[test]
fn a_cock_that_isolates_only_gauges_isolates_no_brake() {
    // The hoses go past the cock; a gauge, a sensor and a test point stay behind it.
    let gauges = "=T1 pass kind=test_point\n=T2 pass kind=pressure_sensor\n=T3 pass kind=gauge\n\
                  =Q1 > =T1 cylinder_pressure\n=Q1 > =T2 cylinder_pressure\n\
                  =Q1 > =T3 cylinder_pressure";
    let sound = format!("{SOUND}{gauges}");
    assert_eq!(remarks(&sound), Vec::<String>::new());
    let past = sound
        .replace("=Q1 > =C1", "=K1 > =C1")
        .replace("=Q1 > =C2", "=K1 > =C2");
    let only = "=Q1: isolates only gauges, sensors and the like; no brake, valve or reservoir is \
                reached past it alone";
    assert_eq!(remarks(&past), [only]);
    // A bypass beside it does the same.
    let bypass = format!("{sound}\n=K1 > =C1 cylinder_pressure\n=K1 > =C2 cylinder_pressure");
    assert_eq!(remarks(&bypass), [only]);
    // What a cock took in another revision is named.
    let before = car_type("T", &sound);
    for text in [past, bypass] {
        let after = compiled(&car_type("T", &text));
        let told: Vec<String> = check_against(&after, &before)
            .iter()
            .map(ToString::to_string)
            .collect();
        assert_eq!(
            told,
            [
                "=Q1: took brakes when closed, and takes none now; they are also reached by other ways"
            ]
        );
    }
}

#[test]
fn a_cock_in_one_of_two_inputs_that_a_valve_needs_isolates_it() {
    let piloted = SOUND
        .replace("=A1 > demand@=K1 electrical_demand", "")
        .replace(
            "=G1 > =R1",
            "=Q5 cock\n=N1 all_of kind=magnet_valve\n=G1 > =R1",
        );
    let piloted = format!(
        "{piloted}=R1 > supply@=N1 main_air\n=A1 > demand@=N1 electrical_demand\n\
         =N1 > =Q5 pilot_pressure\n=Q5 > pilot@=K1 pilot_pressure"
    );
    assert_eq!(remarks(&piloted), Vec::<String>::new());
}
