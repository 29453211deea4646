//! What is doubtful about what is fitted by what the register knows of it: where it was kept, and
//! which modifications are not embodied in it.

use domain::configuration::car_type::PositionKind;
use domain::configuration::component::{ComponentRef, Subject};
use domain::configuration::location::LocationKind;
use domain::configuration::modification::{Modification, ModificationScope};
use domain::ledger::consequences::DoubtKind;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use tests::baselines::modified;
use tests::each_database;
use tests::facts::{car, component, fitted, moved, position, receipt};
use tests::fleet::{self, FIRST, SECOND, VALVE};
use tests::locations::{location, sent_to};
use tests::register::Register;

const SINCE: &str = "2029-01-01T00:00Z";

/// The doubts that are kept with an entry, of a component.
async fn doubts(register: &Register, entry: Seq, of: &ComponentRef) -> Vec<DoubtKind> {
    let mut view = register.store.view().await.unwrap();
    let kept = view.entry(entry).await.unwrap().unwrap().entry;
    let told = kept.consequences.map_or_else(Vec::new, |told| told.doubts);
    let of_it = told.into_iter().filter(|doubt| doubt.component == *of);
    of_it.map(|doubt| doubt.why).collect()
}

/// `practice.md`, C.4, 18: custody. Common practice, no source.
async fn what_is_fitted_from_where_nothing_is_fitted_is_doubtful(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, SINCE).await;
    for (name, kind) in [
        ("Store", LocationKind::Store),
        ("Works", LocationKind::Contractor),
        ("Van", LocationKind::InTransit),
        ("Cage", LocationKind::Quarantine),
    ] {
        register.record(SINCE, location(name, kind)).await;
    }
    let places = [
        position("4101", FIRST),
        position("4101", SECOND),
        position("4102", FIRST),
        position("4102", SECOND),
    ];
    let day = Some("2029-03-01");
    for ((valve, place), (to, said, kind)) in components.valves.iter().zip(&places).zip([
        ("Works", (None, day), Some(LocationKind::Contractor)),
        ("Van", (Some("Store"), day), Some(LocationKind::InTransit)),
        ("Cage", (None, None), Some(LocationKind::Quarantine)),
        ("Store", (None, None), None),
    ]) {
        let sent = sent_to(valve, to, said);
        let sent = register.record("2029-02-01T00:00Z", sent).await;
        let entry = fitted(valve, place);
        let entry = register.record("2029-02-10T00:00Z", entry).await;
        let expected = kind.map(|kind| DoubtKind::KeptAway {
            location: to.parse().unwrap(),
            kind,
            since: "2029-02-01".parse().unwrap(),
            by: sent,
        });
        let told = doubts(&register, entry, valve).await;
        assert_eq!(told, expected.into_iter().collect::<Vec<_>>(), "{to}");
    }
    register.proves().await;
}

const PART: &str = "DV-230";

/// A valve of a part in the states A and B, in the first, with a campaign to the second.
async fn with_campaign(url: &str) -> (Register, ComponentRef) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let part = fleet::part(PART, PositionKind::DistributorValve);
    let part = modified(&part, &["A", "B"], None);
    let valve = component(PART, "1");
    let mut received = receipt(&valve, "2020-01-01");
    received.modification = Some("A".parse().unwrap());
    let baseline = fleet::car_type_with("M", &[VALVE, PART], None);
    let campaign = Modification {
        number: "M-1".parse().unwrap(),
        title: "a stiffer spring".to_owned(),
        scope: ModificationScope::Components {
            part: PART.parse().unwrap(),
            state: "B".parse().unwrap(),
            positions: Vec::new(),
            cars: None,
        },
        by: "2029-06-30".parse().unwrap(),
        source: "invented for the tests".to_owned(),
    };
    let cars = ["4101", "4102"].map(|number| car(number, "M", fleet::DEPOT));
    for fact in [part, baseline] {
        register.bring(SINCE, fact).await;
    }
    for fact in cars {
        register.bring("2029-01-02T00:00Z", fact).await;
    }
    let received = Fact::ComponentReceived(received);
    register.record(SINCE, received).await;
    let issued = Fact::ModificationIssued(campaign);
    register.record("2029-03-01T00:00Z", issued).await;
    (register, valve)
}

fn campaign(fitted_on: &str) -> DoubtKind {
    DoubtKind::Campaign {
        modification: "M-1".parse().unwrap(),
        last: "2029-06-30".parse().unwrap(),
        fitted_on: fitted_on.parse().unwrap(),
        state: Some("A".parse().unwrap()),
    }
}

/// `practice.md`, C.5, 23: checked again at each fitting. Common practice, no source.
async fn a_campaign_that_is_left_is_told_at_each_fitting(url: &str) {
    let (mut register, valve) = with_campaign(url).await;
    let first = fitted(&valve, &position("4101", SECOND));
    let before = register.record("2029-02-01T00:00Z", first).await;
    assert_eq!(doubts(&register, before, &valve).await, [], "not issued");
    for (day, to) in [
        ("2029-04-01", position("4102", SECOND)),
        ("2029-07-01", position("4101", SECOND)),
    ] {
        let there = moved(&valve, &to);
        let entry = register.record(&format!("{day}T00:00Z"), there).await;
        assert_eq!(doubts(&register, entry, &valve).await, [campaign(day)]);
    }
    let done = Fact::Embodied {
        modification: "M-1".parse().unwrap(),
        subject: Subject::Component(valve.clone()),
        evidence: "order 12".to_owned(),
    };
    register.record("2029-07-02T00:00Z", done).await;
    let back = moved(&valve, &position("4102", SECOND));
    let back = register.record("2029-07-03T00:00Z", back).await;
    assert_eq!(doubts(&register, back, &valve).await, []);
    register.proves().await;
}

each_database!(
    what_is_fitted_from_where_nothing_is_fitted_is_doubtful,
    a_campaign_that_is_left_is_told_at_each_fitting,
);
