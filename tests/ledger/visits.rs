//! Visits on both databases: planned, planned otherwise, cancelled, and never in two places at
//! once.

use domain::configuration::location::{Location, LocationKind};
use domain::due::visit::{Visit, WorkHours};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::people::Role;
use domain::refusal::Refusal;
use std::collections::BTreeSet;
use store::Recorded;
use tests::each_database;
use tests::facts::at;
use tests::fleet;
use tests::register::{Register, command, person};

use super::modifications::of_cars;

const SINCE: &str = "2029-01-01T00:00Z";
const PLANNED: &str = "2029-03-01T08:00Z";

/// A unit is to be at the depot North.
fn visit(number: &str, [from, until]: [&str; 2]) -> Visit {
    Visit {
        number: number.parse().unwrap(),
        unit: fleet::UNIT.parse().unwrap(),
        depot: fleet::DEPOT.parse().unwrap(),
        from: from.parse().unwrap(),
        until: until.parse().unwrap(),
        hours: WorkHours::try_from(40).unwrap(),
        modifications: BTreeSet::new(),
        in_place_of: None,
    }
}

/// It is planned otherwise by somebody who saw an entry by which it was planned.
fn otherwise(number: &str, days: [&str; 2], seen: Seq) -> Fact {
    Fact::VisitPlanned(Box::new(Visit {
        in_place_of: Some(seen),
        ..visit(number, days)
    }))
}

/// It was planned.
pub(super) fn planned(number: &str, days: [&str; 2]) -> Fact {
    Fact::VisitPlanned(Box::new(visit(number, days)))
}

/// It was cancelled.
pub(super) fn cancelled(number: &str) -> Fact {
    Fact::VisitCancelled {
        visit: number.parse().unwrap(),
        reason: "the pit is flooded".to_owned(),
    }
}

async fn founded(url: &str) -> Register {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    register
}

/// A planner records it.
async fn plan(register: &mut Register, fact: Fact) -> Seq {
    let command = command(at(PLANNED), fact);
    match register.send(person(Role::Planner), command).await {
        Ok(Recorded::Now(entry)) => entry.seq,
        other => panic!("not recorded: {other:?}"),
    }
}

async fn refused(register: &mut Register, fact: Fact) -> Refusal {
    let command = command(at(PLANNED), fact);
    register.refuses_of(person(Role::Planner), command).await
}

async fn a_unit_is_at_one_depot_at_a_time(url: &str) {
    let mut register = founded(url).await;
    let days = ["2029-05-02", "2029-05-06"];
    let first = plan(&mut register, planned("V1", days)).await;
    let why = refused(&mut register, planned("V2", ["2029-05-05", "2029-05-08"])).await;
    assert!(
        matches!(&why, Refusal::StandsAgainst { by, .. } if *by == first),
        "{why}"
    );
    let told = format!("contradicts {first}: visit V1 from 2029-05-02 to 2029-05-06; ");
    assert!(why.to_string().contains(&told), "{why}");
    // It leaves one depot on the day on which it comes to the next.
    let next = planned("V2", ["2029-05-06", "2029-05-08"]);
    plan(&mut register, next).await;
    // Planned otherwise, a visit is not in its own way.
    let later = otherwise("V1", ["2029-05-03", "2029-05-06"], first);
    let later = plan(&mut register, later).await;
    let mut view = register.store.view().await.unwrap();
    let from = "2029-05-01".parse().unwrap();
    let listed = view.visits(None, (from, None)).await.unwrap();
    let listed: Vec<_> = listed
        .iter()
        .map(|record| (record.visit.number.as_str(), record.visit.from.to_string()))
        .collect();
    assert_eq!(
        listed,
        [
            ("V1", "2029-05-03".to_owned()),
            ("V2", "2029-05-06".to_owned())
        ]
    );
    let one = view.visit(&"V1".parse().unwrap()).await.unwrap().unwrap();
    assert_eq!((one.by, one.cancelled_by), (later, None));
    drop(view);
    register.proves().await;
}

async fn a_visit_is_overwritten_by_nobody_who_did_not_see_how_it_is_planned(url: &str) {
    let mut register = founded(url).await;
    let days = ["2029-05-02", "2029-05-06"];
    let first = plan(&mut register, planned("V1", days)).await;
    for again in [
        planned("V1", ["2029-06-02", "2029-06-06"]),
        planned("V1", days),
    ] {
        let why = refused(&mut register, again).await;
        assert!(
            matches!(&why, Refusal::AlreadyDefined { by, .. } if *by == first),
            "{why}"
        );
    }
    let second = otherwise("V1", ["2029-05-03", "2029-05-06"], first);
    let second = plan(&mut register, second).await;
    // Somebody else still sees how it was planned before.
    let late = otherwise("V1", ["2029-07-03", "2029-07-06"], first);
    let late = refused(&mut register, late).await;
    assert!(
        matches!(&late, Refusal::StandsAgainst { by, .. } if *by == second),
        "{late}"
    );
    let none = refused(&mut register, otherwise("V9", days, first)).await;
    assert!(matches!(none, Refusal::Unknown { .. }), "{none}");
    let mut view = register.store.view().await.unwrap();
    let one = view.visit(&"V1".parse().unwrap()).await.unwrap().unwrap();
    assert_eq!(
        (one.by, one.visit.from.to_string().as_str()),
        (second, "2029-05-03")
    );
    drop(view);
    register.proves().await;
}

async fn what_is_cancelled_stays_so_and_is_in_nobodys_way(url: &str) {
    let mut register = founded(url).await;
    let days = ["2029-05-02", "2029-05-06"];
    plan(&mut register, planned("V1", days)).await;
    let gone = plan(&mut register, cancelled("V1")).await;
    for again in [planned("V1", days), cancelled("V1")] {
        let why = refused(&mut register, again).await;
        assert!(
            matches!(&why, Refusal::StandsAgainst { by, .. } if *by == gone),
            "{why}"
        );
    }
    plan(&mut register, planned("V2", days)).await;
    let why = refused(&mut register, cancelled("V9")).await;
    assert!(
        matches!(why, Refusal::Unknown { what: "visit", .. }),
        "{why}"
    );
}

async fn what_cannot_be_is_refused_and_says_what_can(url: &str) {
    let mut register = founded(url).await;
    let good = visit("V1", ["2029-05-02", "2029-05-06"]);
    let of = |unit: &str| Visit {
        unit: unit.parse().unwrap(),
        ..good.clone()
    };
    for (bad, expected) in [
        (visit("V1", ["2029-05-02", "2029-05-01"]), "2029-05-01"),
        (visit("V1", ["2029-05-02", "2031-05-02"]), "366 days"),
        (of("99"), "99"),
        (
            Visit {
                depot: "Nort".parse().unwrap(),
                ..good.clone()
            },
            "a depot of cars of the register",
        ),
        (
            visit("V1", ["2029-02-20", "2029-02-28"]),
            "a day from 2029-03-01 on",
        ),
        (
            Visit {
                modifications: BTreeSet::from(["M-1".parse().unwrap()]),
                ..good.clone()
            },
            "M-1",
        ),
    ] {
        let why = refused(&mut register, Fact::VisitPlanned(Box::new(bad))).await;
        assert!(why.to_string().contains(expected), "{why}");
    }
    let mut view = register.store.view().await.unwrap();
    let from = "2029-01-01".parse().unwrap();
    assert!(view.visits(None, (from, None)).await.unwrap().is_empty());
}

async fn a_visit_is_at_a_workshop_or_a_contractor_too_from_when_it_is_one(url: &str) {
    let mut register = founded(url).await;
    let kinds = [
        (LocationKind::Store, false),
        (LocationKind::Workshop, true),
        (LocationKind::InTransit, false),
        (LocationKind::Contractor, true),
        (LocationKind::Quarantine, false),
    ];
    for ((kind, taken), month) in kinds.into_iter().zip(4..) {
        let name = format!("Lapwing {kind}");
        let location = Location {
            name: name.parse().unwrap(),
            kind,
        };
        let named = Fact::LocationDefined(location);
        register.record("2029-02-01T00:00Z", named).await;
        let days = [2, 6].map(|day| format!("2029-{month:02}-{day:02}"));
        let there = Fact::VisitPlanned(Box::new(Visit {
            depot: name.parse().unwrap(),
            ..visit(&format!("V {month}"), [&days[0], &days[1]])
        }));
        let planner = || person(Role::Planner);
        let before = command(at("2029-01-20T00:00Z"), there.clone());
        let before = register.refuses_of(planner(), before).await;
        assert_eq!(before.field(), "depot", "{before}");
        let sent = command(at(PLANNED), there);
        let recorded = register.send(planner(), sent).await;
        assert_eq!(recorded.is_ok(), taken, "{kind}: {recorded:?}");
    }
    register.proves().await;
}

/// The register's clock is long past its days.
async fn what_was_planned_in_time_is_told_late(url: &str) {
    let mut register = founded(url).await;
    let days = ["2029-02-20", "2029-02-28"];
    let over = refused(&mut register, planned("V1", days)).await;
    assert_eq!(over.field(), "until", "{over}");
    let on_its_last_day = command(at("2029-02-28T23:00Z"), planned("V1", days));
    let told = register.send(person(Role::Planner), on_its_last_day).await;
    assert!(told.is_ok(), "{told:?}");
    register.proves().await;
}

async fn a_visit_stands_beside_what_it_will_embody(url: &str) {
    let mut register = founded(url).await;
    let modification = of_cars();
    register
        .record(PLANNED, Fact::ModificationIssued(modification.clone()))
        .await;
    let doing = BTreeSet::from([modification.number.clone()]);
    for (number, days) in [
        ("V1", ["2029-05-02", "2029-05-06"]),
        ("V2", ["2029-04-02", "2029-04-06"]),
        ("V3", ["2029-03-20", "2029-03-21"]),
    ] {
        let visit = Visit {
            modifications: doing.clone(),
            ..visit(number, days)
        };
        plan(&mut register, Fact::VisitPlanned(Box::new(visit))).await;
    }
    plan(&mut register, cancelled("V3")).await;
    let mut view = register.store.view().await.unwrap();
    let today = "2029-03-01".parse().unwrap();
    let left = view
        .modification_left(&modification, (None, today))
        .await
        .unwrap();
    let of_unit = left.iter().filter(|one| one.unit.is_some());
    let next: Vec<_> = of_unit
        .map(|one| one.visit.as_ref().map(|visit| visit.number.to_string()))
        .collect();
    let soonest = Some("V2".to_owned());
    assert_eq!(next, [soonest.clone(), soonest]);
    let over = "2029-04-07".parse().unwrap();
    let left = view
        .modification_left(&modification, (None, over))
        .await
        .unwrap();
    let mut visits = left.iter().filter_map(|one| one.visit.as_ref());
    assert!(visits.all(|visit| visit.number.as_str() == "V1"));
    drop(view);
    register.proves().await;
}

each_database!(
    a_unit_is_at_one_depot_at_a_time,
    a_visit_is_overwritten_by_nobody_who_did_not_see_how_it_is_planned,
    what_is_cancelled_stays_so_and_is_in_nobodys_way,
    what_cannot_be_is_refused_and_says_what_can,
    a_visit_is_at_a_workshop_or_a_contractor_too_from_when_it_is_one,
    what_was_planned_in_time_is_told_late,
    a_visit_stands_beside_what_it_will_embody,
);
