//! A role tries everything it may not: each fact is refused and the refusal is noted.

use std::collections::BTreeSet;

use domain::configuration::car::{Orientation, Train, Vehicle};
use domain::configuration::component::{Condition, Subject};
use domain::configuration::fleet_check::CarAnswer;
use domain::configuration::held::Held;
use domain::configuration::location::LocationKind;
use domain::configuration::plate::PlateCause;
use domain::decision::checks::CheckKind;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::kind::FactKind;
use domain::ledger::proposal::ProposalKind;
use domain::people::Role;
use domain::people::refused::AttemptKind;
use domain::refusal::Refusal;
use store::StoreError;
use store::refused::{REFUSED_PAGE, RefusedFilter};
use tests::baselines::effective;
use tests::each_database;
use tests::facts::{
    at, check_confirmed, component, done, fitted, held, hold_lifted, isolated, isolation_ended,
    judged, leakage_tested, moved, odometer_replaced, position, read, receipt, relocated, removed,
    rule_set, swapped,
};
use tests::fleet::{COCK, FIRST, VALVE, design};
use tests::locations::location;
use tests::proposals;
use tests::register::{Register, command, person};
use tests::settings::set;

use super::concessions::concession;
use super::fleet_checks::{answered, opened};
use super::modifications::{embodied, of_valves};
use super::plates::plate;
use super::visits::{cancelled, planned};

/// What each role may record, by the kinds of facts and of proposals. The register has it once more, so
/// that nobody comes to may by a slip.
fn may_record(role: Role) -> &'static [&'static str] {
    match role {
        Role::Planner => &[
            "car_registered",
            "unit_formed",
            "train_formed",
            "reading_taken",
            "meter_replaced",
            "fleet_check_opened",
            "visit_planned",
            "visit_cancelled",
            "withdrawn",
            "proposed car",
        ],
        Role::Controller => &[
            "train_formed",
            "reading_taken",
            "meter_replaced",
            "isolated",
            "isolation_ended",
            "check_confirmed",
            "decision_taken",
            "held_as_evidence",
            "hold_lifted",
            "withdrawn",
            "proposed lifting",
        ],
        Role::Stores => &[
            "location_defined",
            "component_received",
            "relocated",
            "fitted",
            "removed",
            "moved",
            "swapped",
            "plate_changed",
            "condition_judged",
            "withdrawn",
        ],
        Role::Technician => &[
            "fitted",
            "removed",
            "moved",
            "swapped",
            "plate_changed",
            "condition_judged",
            "reading_taken",
            "meter_replaced",
            "task_done",
            "test_recorded",
            "embodied",
            "setting_made",
            "fleet_check_answered",
            "isolated",
            "isolation_ended",
            "check_confirmed",
            "withdrawn",
        ],
        Role::BrakeEngineer | Role::Auditor | Role::Administrator => &[],
    }
}

/// Whether a role may record what is of a kind. A brake engineer may all but plan visits.
fn may(role: Role, kind: &str) -> bool {
    match role {
        Role::BrakeEngineer => !["visit_planned", "visit_cancelled"].contains(&kind),
        other => may_record(other).contains(&kind),
    }
}

/// The kind of a fact; of a proposal, with that of what is proposed.
fn kind_of(fact: &Fact) -> String {
    match fact {
        Fact::Proposed(proposal) => format!("proposed {}", proposal.kind().name()),
        other => other.kind().name().to_owned(),
    }
}

/// A fact of every kind that there is, and a proposal of every kind.
fn facts() -> Vec<Fact> {
    let (one, other) = (component(VALVE, "1"), component(VALVE, "2"));
    let place = position("4101", FIRST);
    let cock = position("4101", COCK);
    let mut facts = design();
    facts.push(Fact::RuleSetIssued(Box::new(rule_set())));
    facts.extend([
        Fact::TrainFormed(Train {
            id: "2T14".parse().unwrap(),
            vehicles: vec![Vehicle::Car("4101".parse().unwrap(), Orientation::Forward)],
        }),
        Fact::ComponentReceived(receipt(&one, "2020-01-01")),
        fitted(&one, &place),
        removed(&one),
        moved(&one, &place),
        swapped(&one, &other),
        relocated(&one, "Store"),
        judged(&one, Condition::Serviceable),
        read("4101", 1_000),
        odometer_replaced("4101", 1_000, 0),
        done(&one, "OH-DV"),
        leakage_tested("T-1", "4101", at("2029-01-01T00:00Z"), "0.1"),
        isolated(&cock),
        isolation_ended(&cock, "T-1"),
        check_confirmed(&cock, Seq(1), CheckKind::PadsFree),
        decided(),
        held(Held::Component(one.clone())),
        hold_lifted(Seq(1)),
        Fact::RevisionEffective(effective("B", "4101", "2029-06-01")),
        Fact::ConcessionGranted(concession("C-1", "2029-06-30")),
        Fact::ConcessionProlonged {
            number: "C-1".parse().unwrap(),
            until: "2029-07-31".parse().unwrap(),
        },
        Fact::ConcessionWithdrawn {
            number: "C-1".parse().unwrap(),
        },
        set("4101", FIRST, "opening pressure", "8.5 bar"),
        Fact::ModificationIssued(of_valves()),
        embodied("M-1", Subject::Component(one.clone())),
        opened(&["4101"]),
        answered(Seq(1), "4101", CarAnswer::Sound),
        planned("V1", ["2029-05-02", "2029-05-06"]),
        cancelled("V1"),
        location("Works", LocationKind::Contractor),
        plate(&one, "9-9", PlateCause::Misread),
        Fact::Withdrawn,
        Fact::Approved { proposal: Seq(1) },
        Fact::Rejected { proposal: Seq(1) },
    ]);
    let proposals = proposals::of_each_kind(Seq(1)).into_iter();
    facts.extend(proposals.map(Fact::Proposed));
    facts
}

/// That a train may not run.
fn decided() -> Fact {
    let none = serde_json::json!({"operative": 0, "total": 0});
    let taken = serde_json::json!({
        "train": "2T14", "formed_by": 1, "rule_set": "Example", "revision": "A", "asked": {},
        "found": {
            "cars": [], "cut_outs": [], "rules": [], "permission": "may_not_run",
            "operative": {"axles": none, "bogies": none, "cars": none},
        },
        "decided_by": "C. Controller",
    });
    Fact::DecisionTaken(serde_json::from_value(taken).unwrap())
}

async fn what_a_role_may_not_record_is_refused_and_noted(url: &str) {
    let register = Register::open(url).await;
    let (mut tried, mut seen) = (Vec::new(), BTreeSet::new());
    let mut proposed = BTreeSet::new();
    for fact in facts() {
        seen.insert(fact.kind());
        if let Fact::Proposed(proposal) = &fact {
            proposed.insert(proposal.kind());
        }
        for role in Role::ALL {
            if may(*role, &kind_of(&fact)) {
                continue;
            }
            let actor = person(*role);
            let name = actor.name.to_string();
            let command = command(at("2029-01-01T00:00Z"), fact.clone());
            let refused = register.store.record(actor, command, register.now).await;
            match refused {
                Err(StoreError::Refused(Refusal::NotPermitted { .. })) => {}
                other => panic!("{role} {}: {other:?}", fact.kind().name()),
            }
            tried.push((name, fact.kind().name().to_owned()));
        }
    }
    let kinds = FactKind::ALL.iter().copied().collect();
    assert_eq!(seen, kinds, "every kind is tried");
    assert!(proposed.iter().eq(ProposalKind::ALL), "of proposals too");
    assert_eq!(register.store.view().await.unwrap().last_entry, 0);
    // Noted in the order in which they were tried; read page by page from the newest.
    let (mut noted, mut filter) = (Vec::new(), RefusedFilter::default());
    loop {
        let mut page = register.store.refused_attempts(&filter).await.unwrap();
        let more = REFUSED_PAGE < page.len();
        page.truncate(REFUSED_PAGE);
        filter.after = page.last().map(|(id, attempt)| (attempt.at, *id));
        for (_, attempt) in page {
            assert_eq!(attempt.kind, AttemptKind::Record);
            assert!(
                attempt.why.starts_with("this needs one of the roles "),
                "{attempt:?}"
            );
            assert!(
                attempt
                    .details
                    .is_some_and(|details| details.contains(&attempt.attempted))
            );
            noted.push((attempt.person.unwrap(), attempt.attempted));
        }
        if !more {
            break;
        }
    }
    tried.sort();
    noted.sort();
    assert!(REFUSED_PAGE < noted.len());
    assert_eq!(noted, tried);
}

/// The auditor writes nothing and the administrator keeps accounts only; each other role may record
/// what is its own.
#[test]
fn each_role_may_record_what_is_its_own_and_nothing_else() {
    for fact in facts() {
        let kind = kind_of(&fact);
        for role in Role::ALL {
            let allowed = person(*role).may_record(&fact);
            assert_eq!(allowed, may(*role, &kind), "{role} {kind}");
        }
    }
}

each_database!(what_a_role_may_not_record_is_refused_and_noted);
