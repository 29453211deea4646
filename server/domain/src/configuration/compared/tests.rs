use super::*;

fn filled(places: &[(&str, &str)]) -> Filled {
    let one = |(position, serial): &(&str, &str)| {
        let component = ComponentRef {
            part: "P-1".parse().expect("a part"),
            serial: serial.parse().expect("a serial"),
        };
        (position.parse().expect("a position"), component)
    };
    places.iter().map(one).collect()
}

fn words(before: &[(&str, &str)], after: &[(&str, &str)]) -> Vec<String> {
    let found = differences(&filled(before), &filled(after));
    found.iter().map(ToString::to_string).collect()
}

#[test]
fn each_component_is_told_of_once() {
    let before = [("=A1", "1"), ("=A2", "2"), ("=A3", "3"), ("=A4", "4")];
    assert_eq!(words(&before, &before), Vec::<String>::new());
    assert_eq!(words(&before[..1], &[]).len(), 1);
    // Serials 1 and 2 are swapped, 3 is exchanged, 4 is gone and 6 has come.
    let after = [("=A1", "2"), ("=A2", "1"), ("=A3", "5"), ("=A6", "6")];
    let told = words(&before, &after);
    assert_eq!(told.len(), 5, "{told:?}");
    for said in [
        "serial 1 is at =A2 and was at =A1",
        "serial 2 is at =A1 and was at =A2",
        "serial 5 and was P-1 serial 3",
        "at =A4 is nothing",
        "serial 6 and was nothing",
    ] {
        assert!(
            told.iter().any(|one| one.contains(said)),
            "{said}: {told:?}"
        );
    }
}

#[test]
fn a_place_that_is_filled_is_never_told_to_be_empty() {
    // Serial 2 went off the car and 1 took its place.
    let told = words(&[("=A1", "1"), ("=A2", "2")], &[("=A2", "1")]);
    assert_eq!(
        told,
        [
            "P-1 serial 1 is at =A2 and was at =A1",
            "at =A2 is P-1 serial 1 and was P-1 serial 2",
        ]
    );
    // Serial 1 was replaced by 3, which then changed places with 2.
    let told = words(&[("=A1", "1"), ("=A2", "2")], &[("=A1", "2"), ("=A2", "3")]);
    assert_eq!(
        told,
        [
            "P-1 serial 2 is at =A1 and was at =A2",
            "at =A1 is P-1 serial 2 and was P-1 serial 1",
            "at =A2 is P-1 serial 3 and was P-1 serial 2",
        ]
    );
}

#[test]
fn a_setting_differs_where_its_value_does_or_it_is_told_of_one_time_only() {
    let settings = |all: &[(&str, &str)]| -> Settings {
        let one = |(position, value): &(&str, &str)| {
            let setting = "orientation".parse().expect("a setting");
            let position = position.parse().expect("a position");
            ((position, setting), value.parse().expect("a value"))
        };
        all.iter().map(one).collect()
    };
    let before = settings(&[("=A1", "upright"), ("=A2", "upright"), ("=A3", "upright")]);
    let after = settings(&[("=A1", "upright"), ("=A2", "inverted"), ("=A4", "upright")]);
    let told = setting_differences(&before, &after);
    let told: Vec<String> = told.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "orientation at =A2 is inverted and was upright",
            "orientation at =A3 is not told and was upright",
            "orientation at =A4 is upright and was not told",
        ]
    );
}

#[test]
fn what_is_told_of_a_component_differs_where_it_is_there_at_both_times() {
    let snapshot = |revision: &str, condition, modification: Option<&str>| {
        let filled = filled(&[("=A1", "1")]);
        let modification = modification.map(|state| state.parse().expect("a state"));
        let told_of = ToldOf {
            condition: Some(condition),
            modification,
        };
        let told = filled.values().map(|one| (one.clone(), told_of.clone()));
        Snapshot {
            revision: revision.parse().expect("a revision"),
            told: told.collect(),
            settings: Settings::new(),
            filled,
        }
    };
    let before = snapshot("A", Condition::Serviceable, None);
    let after = snapshot("B", Condition::Unserviceable, Some("2"));
    let words = before.differences(&after);
    let words: Vec<String> = words.iter().map(ToString::to_string).collect();
    assert_eq!(
        words,
        [
            "baseline revision B is in force and was A",
            "P-1 serial 1 at =A1 is unserviceable and was serviceable",
            "modification state of P-1 serial 1 at =A1 is 2 and was not told",
        ]
    );
    let emptied = Snapshot {
        filled: Filled::new(),
        ..after.clone()
    };
    assert_eq!(
        before.differences(&emptied).len(),
        2,
        "revised and taken off"
    );
    assert_eq!(after.differences(&after), []);
}

#[test]
fn going_back_tells_the_reverse() {
    let (one, other) = (
        filled(&[("=A1", "1"), ("=A2", "2")]),
        filled(&[("=A1", "3"), ("=A4", "2"), ("=A5", "7")]),
    );
    assert_eq!(
        differences(&one, &other).len(),
        differences(&other, &one).len()
    );
}
