//! Settings on both databases: what was set at a position, in two times, until what is there is
//! exchanged; what the baseline does not allow; and where cars depart by what is set.

use domain::configuration::car_type::PositionKind;
use domain::configuration::held::Held;
use domain::ledger::fact::Fact;
use domain::people::Role;
use domain::refusal::Refusal;
use store::read::AsAt;
use tests::assemblies::{self, INNER_VALVE, PANEL, PANEL_PLACE};
use tests::each_database;
use tests::facts::{
    at, fitted, fitted_at, held, hold_lifted, inside, moved, position, removed, swapped,
};
use tests::fleet::{self, CARS, Components, FIRST, RELAY, SECOND};
use tests::register::{Register, person};
use tests::settings::{asks_for, found, set, set_because};

const SINCE: &str = "2029-01-01T00:00Z";
const FITTED: &str = "2029-02-01T00:00Z";
const NOW: &str = "2031-01-01T00:00Z";
const PRESSURE: &str = "opening pressure@8.5 bar@8.3 to 8.7";
const ORIENTATION: &str = "orientation@upright@inverted";
const SOFTWARE: &str = "software@revision 2.4@revision 2.3 or revision 2.2";

/// The fleet, whose cars ask for settings at the first position and the relay valve, with a valve
/// at the first position of the first car.
async fn founded(url: &str) -> (Register, Components) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, SINCE).await;
    let asked = [(FIRST, PRESSURE), (FIRST, ORIENTATION), (RELAY, SOFTWARE)];
    register.record(SINCE, asks_for("S", &asked)).await;
    let force = ("S", "4101 to 4102", "2029-01-01");
    register.put_in_force(SINCE, force).await;
    let valve = fitted(&components.valves[0], &position("4101", FIRST));
    register.record(FITTED, valve).await;
    (register, components)
}

fn pressure(value: &str) -> Fact {
    set("4101", FIRST, "opening pressure", value)
}

async fn told(register: &Register, moment: &str) -> Vec<String> {
    let all = register.settings("4101", moment, NOW).await.into_iter();
    let first = all.filter_map(|one| one.strip_prefix(FIRST).map(str::to_owned));
    first.map(|one| one.trim().to_owned()).collect()
}

async fn a_setting_is_told_until_what_is_there_is_exchanged(url: &str) {
    let (mut register, components) = founded(url).await;
    let none = ["opening pressure not told", "orientation not told"];
    assert_eq!(told(&register, FITTED).await, none);
    register.record(FITTED, pressure("8.5 bar")).await;
    let upright = set("4101", FIRST, "orientation", "upright");
    register.record("2029-02-03T00:00Z", upright).await;
    let both = ["opening pressure 8.5 bar", "orientation upright"];
    assert_eq!(
        told(&register, FITTED).await,
        [both[0], "orientation not told"]
    );
    assert_eq!(told(&register, "2029-02-03T00:00Z").await, both);
    // The same component comes off and goes on again: somebody may have set it in between.
    let valve = &components.valves[0];
    register.record("2029-03-01T00:00Z", removed(valve)).await;
    assert_eq!(told(&register, "2029-02-28T00:00Z").await, both);
    assert_eq!(told(&register, "2029-03-02T00:00Z").await, none);
    let other = fitted(&components.valves[1], &position("4101", FIRST));
    register.record("2029-03-03T00:00Z", other).await;
    assert_eq!(told(&register, NOW).await, none);
    register
        .record("2029-03-03T00:00Z", pressure("8.5 bar"))
        .await;
    assert_eq!(
        told(&register, NOW).await,
        [both[0], "orientation not told"]
    );
    // A swap exchanges what is at both positions.
    let third = fitted(&components.valves[2], &position("4102", FIRST));
    register.record("2029-03-03T00:00Z", third).await;
    let swap = swapped(&components.valves[1], &components.valves[2]);
    register.record("2029-04-01T00:00Z", swap).await;
    assert_eq!(told(&register, NOW).await, none);
    register.proves().await;
}

async fn what_the_baseline_does_not_allow_is_refused(url: &str) {
    let (mut register, components) = founded(url).await;
    let day = "2029-02-05T00:00Z";
    for (fact, field) in [
        (set("4199", FIRST, "opening pressure", "8.5 bar"), "car"),
        (
            set("4101", "=BS-K9", "opening pressure", "8.5 bar"),
            "position",
        ),
        (set("4101", FIRST, "choke", "fitted"), "setting"),
        (
            set("4101", SECOND, "opening pressure", "8.5 bar"),
            "setting",
        ),
        (pressure("8.29 bar"), "value"),
        (pressure("8.71 bar"), "value"),
        (pressure("850 kPa"), "value"),
        (pressure("upright"), "value"),
        (set("4101", FIRST, "orientation", "sideways"), "value"),
        // Nothing is there that could be set; the register asks for it in the baseline of 4102.
        (
            set("4102", FIRST, "opening pressure", "8.5 bar"),
            "position",
        ),
        // Revision A, which holds for this car, asks for no settings.
        (set("4103", FIRST, "opening pressure", "8.5 bar"), "setting"),
        // It is not the value wanted, and no reason is given.
        (pressure("8.4 bar"), "reason"),
    ] {
        let refusal = register.refuses(day, fact.clone()).await;
        assert_eq!(refusal.field(), field, "{fact:?}: {refusal}");
    }
    let early = register
        .refuses("2029-01-15T00:00Z", pressure("8.5 bar"))
        .await;
    assert_eq!(early.field(), "position", "{early}");
    let because = set_because(day, pressure("8.5 bar"), "");
    let stores = register.refuses_of(person(Role::Stores), because).await;
    assert!(matches!(stores, Refusal::NotPermitted { .. }), "{stores}");
    for wrong in [
        &[(FIRST, PRESSURE), (FIRST, "opening pressure@open")][..],
        &[(FIRST, ORIENTATION), (FIRST, ORIENTATION)],
    ] {
        let twice = register.refuses(day, asks_for("T", wrong)).await;
        assert_eq!(twice.field(), "settings", "{twice}");
    }
    let hold = Held::Component(components.valves[0].clone());
    register.record(day, held(hold)).await;
    let on_hold = register
        .refuses("2029-02-06T00:00Z", pressure("8.5 bar"))
        .await;
    assert!(
        matches!(on_hold, Refusal::HeldAsEvidence { .. }),
        "{on_hold}"
    );
}

async fn what_is_found_out_of_its_range_is_a_finding_and_is_not_made_so(url: &str) {
    let (mut register, _) = founded(url).await;
    let day = "2029-02-05T00:00Z";
    let seen = |value: &str| found("4101", FIRST, "opening pressure", value);
    // What is of another kind is no value of it at all.
    for value in ["850 kPa", "upright"] {
        let refusal = register.refuses(day, seen(value)).await;
        assert_eq!(refusal.field(), "value", "{refusal}");
    }
    let made = set_because(day, pressure("9.4 bar"), "no other spring in store");
    let made = register.refuses_of(person(Role::Technician), made).await;
    assert_eq!(made.field(), "value", "{made}");
    assert!(made.to_string().contains("recorded as found"), "{made}");
    register.record(day, seen("9.4 bar")).await;
    assert_eq!(told(&register, NOW).await[0], "opening pressure 9.4 bar");
    let departs = register.departures("4101", "2029-06-01").await;
    assert_eq!(departs[0], "=BS-K1 setting out of range", "{departs:?}");
    // Set right, it departs no more.
    register
        .record("2029-02-06T00:00Z", pressure("8.5 bar"))
        .await;
    let departs = register.departures("4101", "2029-06-01").await;
    assert!(!departs.contains(&"=BS-K1 setting out of range".to_owned()));
    register.proves().await;
}

async fn a_revision_that_is_not_named_is_not_made_and_is_a_finding_where_it_is_found(url: &str) {
    let (mut register, components) = founded(url).await;
    let relay = fitted(&components.relay, &position("4101", RELAY));
    register.record(FITTED, relay).await;
    let other = set("4101", RELAY, "software", "revision 9.9");
    let other = set_because("2029-02-05T00:00Z", other, "came with the unit");
    let other = register.refuses_of(person(Role::Technician), other).await;
    assert_eq!(other.field(), "value", "{other}");
    let allowed = "revision 2.4 or revision 2.3 or revision 2.2";
    assert!(other.to_string().contains(allowed), "{other}");
    let seen = found("4101", RELAY, "software", "revision 9.9");
    register.record("2029-02-05T00:00Z", seen).await;
    let departs = register.departures("4101", "2029-06-01").await;
    let out = "=BS-K3 setting out of range".to_owned();
    assert!(departs.contains(&out), "{departs:?}");
    // One that is named departs, and is none that is not allowed.
    let named = set("4101", RELAY, "software", "revision 2.2");
    register.departing("2029-02-06T00:00Z", named).await;
    let departs = register.departures("4101", "2029-06-01").await;
    assert!(!departs.contains(&out), "{departs:?}");
    let deviates = "=BS-K3 setting deviates".to_owned();
    assert!(departs.contains(&deviates), "{departs:?}");
    register.proves().await;
}

async fn settings_are_told_as_at_one_time_and_as_known_at_another(url: &str) {
    let (mut register, _) = founded(url).await;
    register.now_is("2030-03-01T06:00Z");
    let first = register
        .record("2029-02-10T00:00Z", pressure("8.5 bar"))
        .await;
    // Told late, and then found to have been typed wrongly.
    register.now_is("2030-03-05T06:00Z");
    let late = register
        .departing("2029-02-20T00:00Z", pressure("8.4 bar"))
        .await;
    register.now_is("2030-03-09T06:00Z");
    let corrected = register
        .correct(late, "2029-02-25T00:00Z", pressure("8.6 bar"))
        .await;
    register.now_is("2030-03-12T06:00Z");
    register.withdraw(corrected).await;
    let at = async |effective: &str, known: &str| {
        let all = register.settings("4101", effective, known).await;
        all[0].replace(&format!("{FIRST} opening pressure "), "")
    };
    for (effective, known, value) in [
        ("2029-02-21T00:00Z", "2030-02-28T00:00Z", "not told"),
        ("2029-02-21T00:00Z", "2030-03-02T00:00Z", "8.5 bar"),
        ("2029-02-21T00:00Z", "2030-03-06T00:00Z", "8.4 bar"),
        ("2029-02-21T00:00Z", "2030-03-10T00:00Z", "8.5 bar"),
        ("2029-02-26T00:00Z", "2030-03-10T00:00Z", "8.6 bar"),
        ("2029-02-26T00:00Z", "2030-03-13T00:00Z", "8.5 bar"),
        ("2029-02-09T00:00Z", "2030-03-13T00:00Z", "not told"),
    ] {
        assert_eq!(at(effective, known).await, value, "{effective} {known}");
    }
    register.withdraw(first).await;
    assert_eq!(
        told(&register, NOW).await,
        ["opening pressure not told", "orientation not told"]
    );
    register.proves().await;
}

async fn a_setting_that_is_not_told_or_not_as_wanted_is_a_departure(url: &str) {
    let (mut register, components) = founded(url).await;
    let day = "2029-06-01";
    let places =
        |all: &[&str]| -> Vec<String> { all.iter().map(|one| (*one).to_owned()).collect() };
    let not_told = "=BS-K1 setting not told";
    let others = [
        "=BS-K2 unknown".to_owned(),
        // Nothing is at the relay valve's place: that is the departure, not its software.
        "=BS-K3 unknown".to_owned(),
    ];
    let with = |first: &[&str]| [places(first), others.to_vec()].concat();
    assert_eq!(
        register.departures("4101", day).await,
        with(&[not_told, not_told])
    );
    let low = register
        .departing("2029-02-02T00:00Z", pressure("8.4 bar"))
        .await;
    let upright = set("4101", FIRST, "orientation", "upright");
    register.record("2029-02-02T00:00Z", upright).await;
    let deviates = with(&["=BS-K1 setting deviates"]);
    assert_eq!(register.departures("4101", day).await, deviates);
    assert_eq!(register.departures("4101", "2029-02-01").await, others);
    // It is set right, then that turns out not to be so.
    let right = register
        .record("2029-03-01T00:00Z", pressure("8.5 bar"))
        .await;
    assert_eq!(register.departures("4101", day).await, others);
    register.withdraw(right).await;
    assert_eq!(register.departures("4101", day).await, deviates);
    register.withdraw(low).await;
    assert_eq!(register.departures("4101", day).await, with(&[not_told]));
    // Another revision wants another value.
    register
        .record("2029-03-01T00:00Z", pressure("8.5 bar"))
        .await;
    let other = [(FIRST, "opening pressure@8.4 bar@8.3 to 8.5")];
    register.record(SINCE, asks_for("U", &other)).await;
    register
        .put_in_force("2029-05-01T00:00Z", ("U", "4101", "2029-05-15"))
        .await;
    assert_eq!(register.departures("4101", "2029-05-14").await, others);
    assert_eq!(register.departures("4101", "2029-05-15").await, deviates);
    let valve = removed(&components.valves[0]);
    register.record("2029-05-20T00:00Z", valve).await;
    let vacant = with(&["=BS-K1 vacant"]);
    assert_eq!(register.departures("4101", day).await, vacant);
    register.proves().await;
}

async fn a_setting_inside_an_assembly_is_not_told_after_that_is_exchanged(url: &str) {
    let mut register = Register::open(url).await;
    let components = assemblies::found(&mut register, SINCE).await;
    let [panel, other, _] = assemblies::components();
    let mut inner = fleet::place("=BS-P1-K1", PositionKind::DistributorValve, &[]);
    inner.settings.push(PRESSURE.parse().unwrap());
    let mut panel_place = fleet::place(PANEL_PLACE, PositionKind::ControlPanel, &[PANEL]);
    panel_place.settings.push(PRESSURE.parse().unwrap());
    let design = fleet::car_type_with("D", &[], [panel_place, inner]);
    register.record(SINCE, design).await;
    register
        .put_in_force(SINCE, ("D", "4101", "2029-01-01"))
        .await;
    let within = fitted_at(&components.valves[0], &inside(&panel, INNER_VALVE));
    register.record("2029-01-10T00:00Z", within).await;
    let place = position("4101", PANEL_PLACE);
    register.record(FITTED, fitted(&panel, &place)).await;
    let inner = |value: &str| set("4101", "=BS-P1-K1", "opening pressure", value);
    register.record("2029-02-02T00:00Z", inner("8.5 bar")).await;
    let all = async |register: &Register| register.settings("4101", NOW, NOW).await;
    let outer_not_told = "=BS-P1 opening pressure not told";
    let told = [outer_not_told, "=BS-P1-K1 opening pressure 8.5 bar"];
    assert_eq!(all(&register).await, told);
    // What is held with the panel is not set either, and no panel with something held inside it.
    let outer = set("4101", PANEL_PLACE, "opening pressure", "8.5 bar");
    let valve = &components.valves[0];
    for (what, setting, [since, tried, until]) in [
        (&panel, inner("8.5 bar"), ["03", "04", "05"]),
        (valve, outer, ["06", "07", "08"]),
    ] {
        let on = |day: &str| format!("2029-02-{day}T00:00Z");
        let hold = held(Held::Component(what.clone()));
        let hold = register.record(&on(since), hold).await;
        let refusal = register.refuses(&on(tried), setting).await;
        assert!(
            matches!(refusal, Refusal::HeldAsEvidence { .. }),
            "{refusal}"
        );
        register.record(&on(until), hold_lifted(hold)).await;
    }
    register.record("2029-03-01T00:00Z", removed(&panel)).await;
    let within = fitted_at(&components.valves[1], &inside(&other, INNER_VALVE));
    register.record("2029-03-01T00:00Z", within).await;
    register
        .record("2029-03-02T00:00Z", fitted(&other, &place))
        .await;
    let not_told = [outer_not_told, "=BS-P1-K1 opening pressure not told"];
    assert_eq!(all(&register).await, not_told);
    register.proves().await;
}

async fn what_is_set_is_compared_between_two_times(url: &str) {
    let (mut register, components) = founded(url).await;
    register.record(FITTED, pressure("8.5 bar")).await;
    let relay = fitted(&components.relay, &position("4101", RELAY));
    register.record(FITTED, relay).await;
    let software = |text: &str| set("4101", RELAY, "software", text);
    register.record(FITTED, software("revision 2.4")).await;
    register
        .departing("2029-04-01T00:00Z", software("revision 2.3"))
        .await;
    let away = moved(&components.valves[0], &position("4101", SECOND));
    register.record("2029-04-02T00:00Z", away).await;
    let mut view = register.store.view().await.unwrap();
    let car = view.car(&CARS[0].parse().unwrap()).await.unwrap().unwrap();
    let times = ["2029-03-01T00:00Z", NOW].map(|effective| AsAt {
        effective: at(effective),
        known: at(NOW),
    });
    let found = view.cars_between(&[car], (times[0], times[1])).await;
    let found = &found.unwrap()[0].differences;
    let found: Vec<String> = found.iter().map(ToString::to_string).collect();
    // The valve that was moved is told of before.
    assert_eq!(
        found[1..],
        [
            "opening pressure at =BS-K1 is not told and was 8.5 bar",
            "software at =BS-K3 is revision 2.3 and was revision 2.4",
        ]
    );
    register.proves().await;
}

each_database!(
    what_is_found_out_of_its_range_is_a_finding_and_is_not_made_so,
    a_revision_that_is_not_named_is_not_made_and_is_a_finding_where_it_is_found,
    a_setting_is_told_until_what_is_there_is_exchanged,
    what_the_baseline_does_not_allow_is_refused,
    settings_are_told_as_at_one_time_and_as_known_at_another,
    a_setting_that_is_not_told_or_not_as_wanted_is_a_departure,
    a_setting_inside_an_assembly_is_not_told_after_that_is_exchanged,
    what_is_set_is_compared_between_two_times,
);
