//! What a concession can allow: a setting to be otherwise, and what a move or a swap brings.

use domain::configuration::component::{ComponentRef, RemovalReason};
use domain::configuration::concession::{Allowed, Concession};
use domain::identity::SettingName;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::Role;
use domain::refusal::Refusal;
use store::read::departures::DepartureFilter;
use tests::each_database;
use tests::facts::{fitted, position};
use tests::fleet::{self, FIRST, SECOND};
use tests::register::{Register, person};
use tests::settings::{asks_for, found, set, set_because};

use super::concessions::concession;

const SINCE: &str = "2029-01-01T00:00Z";
const GRANTED: &str = "2029-02-01T00:00Z";
const LATER: &str = "2029-03-01T00:00Z";
const PRESSURE: &str = "opening pressure@8.5 bar@8.3 to 8.7";

async fn grant(register: &mut Register, granted: Concession) {
    let proposed = Fact::Proposed(Proposal::Concession(granted));
    let proposal = register.record(GRANTED, proposed).await;
    register.approve(proposal, GRANTED).await;
}

/// How the setting of the first position of car 4101 stands on a day.
async fn standing(register: &Register, on: &str) -> Option<String> {
    let filter = DepartureFilter {
        car: Some("4101".parse().unwrap()),
        ..DepartureFilter::all(on.parse().unwrap())
    };
    let mut view = register.store.view().await.unwrap();
    let items = view.departures(&filter).await.unwrap();
    let item = items.iter().find(|item| item.setting.is_some())?;
    let standing = item.standing(on.parse().unwrap()).name();
    Some(format!("{} {standing}", item.kind.name()))
}

async fn a_concession_allows_a_setting_to_be_otherwise_until_it_ends(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, SINCE).await;
    register
        .record(SINCE, asks_for("S", &[(FIRST, PRESSURE)]))
        .await;
    let force = ("S", "4101 to 4102", "2029-01-01");
    register.put_in_force(SINCE, force).await;
    let valve = fitted(&components.valves[0], &position("4101", FIRST));
    register.record(GRANTED, valve).await;
    let granted = |setting: &str| Concession {
        position: FIRST.parse().unwrap(),
        allows: Allowed::Setting(setting.parse().unwrap()),
        ..concession("C-9", "2029-06-30")
    };
    let unknown = Fact::Proposed(Proposal::Concession(granted("choke")));
    let unknown = register.refuses(GRANTED, unknown).await;
    assert!(
        matches!(
            unknown,
            Refusal::Unknown {
                what: "setting",
                ..
            }
        ),
        "{unknown}"
    );
    grant(&mut register, granted("opening pressure")).await;
    // Of what is not told nothing is allowed.
    let told = standing(&register, "2029-02-15").await;
    assert_eq!(told.as_deref(), Some("setting_not_told finding"));
    register
        .departing(LATER, set("4101", FIRST, "opening pressure", "8.6 bar"))
        .await;
    let told = standing(&register, "2029-06-30").await;
    assert_eq!(told.as_deref(), Some("setting_deviates under_concession"));
    let told = standing(&register, "2029-07-01").await;
    assert_eq!(told.as_deref(), Some("setting_deviates finding"));
    register.proves().await;
}

async fn only_a_concession_for_it_allows_a_setting_outside_its_range(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, SINCE).await;
    register
        .record(SINCE, asks_for("S", &[(FIRST, PRESSURE)]))
        .await;
    let force = ("S", "4101 to 4102", "2029-01-01");
    register.put_in_force(SINCE, force).await;
    let valve = fitted(&components.valves[0], &position("4101", FIRST));
    register.record(GRANTED, valve).await;
    let name: SettingName = "opening pressure".parse().unwrap();
    let granted = |number: &str, allows: Allowed| Concession {
        position: FIRST.parse().unwrap(),
        allows,
        ..concession(number, "2029-06-30")
    };
    // One for another value within the range is none for this.
    let within = granted("C-8", Allowed::Setting(name.clone()));
    grant(&mut register, within).await;
    let made = set("4101", FIRST, "opening pressure", "9 bar");
    let because = set_because(LATER, made, "no other spring in store");
    let engineer = person(Role::BrakeEngineer);
    let refused = register.refuses_of(engineer, because.clone()).await;
    assert_eq!(refused.field(), "value", "{refused}");
    let seen = found("4101", FIRST, "opening pressure", "9.2 bar");
    register.record(GRANTED, seen).await;
    let told = standing(&register, "2029-02-15").await;
    assert_eq!(told.as_deref(), Some("setting_out_of_range finding"));
    let beyond = |values: Option<&str>| Concession {
        values: values.map(|values| values.parse().unwrap()),
        ..granted("C-9", Allowed::SettingOutOfRange(name.clone()))
    };
    for wrong in [None, Some("8.7 to 9.2 kPa"), Some("inverted")] {
        let wrong = Fact::Proposed(Proposal::Concession(beyond(wrong)));
        let wrong = register.refuses(GRANTED, wrong).await;
        assert_eq!(wrong.field(), "values", "{wrong}");
    }
    grant(&mut register, beyond(Some("8.7 to 9.2 bar"))).await;
    // A valve that is set to nothing is not what was agreed to.
    let nothing = set("4101", FIRST, "opening pressure", "0 bar");
    let nothing = set_because(LATER, nothing, "no other spring in store");
    let engineer = person(Role::BrakeEngineer);
    let nothing = register.refuses_of(engineer, nothing).await;
    assert_eq!(nothing.field(), "value", "{nothing}");
    register.kept(because).await;
    let told = standing(&register, "2029-06-30").await;
    assert_eq!(
        told.as_deref(),
        Some("setting_out_of_range under_concession")
    );
    let told = standing(&register, "2029-07-01").await;
    assert_eq!(told.as_deref(), Some("setting_out_of_range finding"));
    register.proves().await;
}

/// A revision that the baseline does not name is made under a concession that does.
async fn a_concession_names_the_revisions_that_it_allows(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, SINCE).await;
    let asked = [(FIRST, "software@revision 2.4@revision 2.3")];
    register.record(SINCE, asks_for("S", &asked)).await;
    let force = ("S", "4101 to 4102", "2029-01-01");
    register.put_in_force(SINCE, force).await;
    let valve = fitted(&components.valves[0], &position("4101", FIRST));
    register.record(GRANTED, valve).await;
    let beyond = |values: &str| Concession {
        position: FIRST.parse().unwrap(),
        allows: Allowed::SettingOutOfRange("software".parse().unwrap()),
        values: Some(values.parse().unwrap()),
        ..concession("C-9", "2029-06-30")
    };
    let wrong = Fact::Proposed(Proposal::Concession(beyond("2.1 to 2.2 bar")));
    let wrong = register.refuses(GRANTED, wrong).await;
    assert_eq!(wrong.field(), "values", "{wrong}");
    grant(&mut register, beyond("revision 2.2 or revision 2.1")).await;
    let because = |value: &str| {
        let made = set("4101", FIRST, "software", value);
        set_because(LATER, made, "no other on the workshop's machine")
    };
    let engineer = person(Role::BrakeEngineer);
    let refused = register.refuses_of(engineer, because("revision 9.9")).await;
    assert_eq!(refused.field(), "value", "{refused}");
    register.kept(because("revision 2.1")).await;
    let told = standing(&register, "2029-06-30").await;
    assert_eq!(
        told.as_deref(),
        Some("setting_out_of_range under_concession")
    );
    register.proves().await;
}

fn moved_under(component: &ComponentRef, number: Option<&str>) -> Fact {
    Fact::Moved {
        component: component.clone(),
        to: position("4101", SECOND).into(),
        reason: RemovalReason::Access,
        concession: number.map(|number| number.parse().unwrap()),
    }
}

/// The later valve is approved at the first position only.
async fn what_is_moved_or_swapped_is_allowed_by_a_concession_named_in_that_entry(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, SINCE).await;
    let (later, valve) = (&components.later, &components.valves[0]);
    let when = "2029-01-15T00:00Z";
    register
        .record(when, fitted(later, &position("4101", FIRST)))
        .await;
    grant(&mut register, concession("C-1", "2029-06-30")).await;
    let alone = register.refuses(LATER, moved_under(later, None)).await;
    assert!(matches!(alone, Refusal::NotApproved { .. }), "{alone}");
    let moved = register
        .record(LATER, moved_under(later, Some("C-1")))
        .await;
    register.proves().await;
    register.withdraw(moved).await;
    register
        .record(when, fitted(valve, &position("4101", SECOND)))
        .await;
    let swapped = |of_later: Option<&str>| Fact::Swapped {
        first: valve.clone(),
        second: later.clone(),
        reason: RemovalReason::Access,
        first_concession: None,
        second_concession: of_later.map(|number| number.parse().unwrap()),
    };
    let alone = register.refuses(LATER, swapped(None)).await;
    assert!(matches!(alone, Refusal::NotApproved { .. }), "{alone}");
    register.record(LATER, swapped(Some("C-1"))).await;
    register.proves().await;
}

each_database!(
    a_concession_names_the_revisions_that_it_allows,
    only_a_concession_for_it_allows_a_setting_outside_its_range,
    a_concession_allows_a_setting_to_be_otherwise_until_it_ends,
    what_is_moved_or_swapped_is_allowed_by_a_concession_named_in_that_entry,
);
