//! What needs two people: nothing changes until the second has approved, and one person cannot
//! pass alone, whatever roles they hold.

use domain::configuration::component::Condition::{Quarantined, Scrapped, Serviceable};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::{Outcome, Proposal};
use domain::ledger::record::founder;
use domain::people::agreement::Agreement;
use domain::people::{Actor, Role};
use domain::refusal::Refusal;
use domain::rule_set::RuleSet;
use domain::time::Zone;
use store::Store;
use tests::each_database;
use tests::facts::{at, judged, released, rule_set};
use tests::fleet;
use tests::register::{Register, command, person, second_engineer};

const THEN: &str = "2029-06-01T00:00Z";

fn proposed() -> Fact {
    Fact::Proposed(Proposal::RuleSet(Box::new(rule_set())))
}

/// The proposer, with every role there is.
fn proposer() -> Actor {
    let name = person(Role::BrakeEngineer).name;
    Actor::account(name, Role::ALL.to_vec())
}

async fn in_force(store: &Store) -> usize {
    store.view().await.unwrap().documents.rule_sets.len()
}

async fn a_rule_set_is_in_force_only_after_a_second_brake_engineer_approved(url: &str) {
    let mut register = Register::open(url).await;
    let proposal = register.record(THEN, proposed()).await;
    assert_eq!(in_force(&register.store).await, 0);
    let approval = Fact::Approved { proposal };
    for (actor, refused) in [
        (proposer(), Refusal::SamePerson { by: proposal }),
        (
            person(Role::Technician),
            Refusal::NotPermitted {
                needed: "brake engineer".to_owned(),
            },
        ),
    ] {
        let command = command(at(THEN), approval.clone());
        assert_eq!(register.refuses_of(actor, command).await, refused);
    }
    let early = command(at("2029-05-01T00:00Z"), approval.clone());
    let early = register.refuses_of(second_engineer(), early).await;
    assert!(
        matches!(early, Refusal::Contradicts { by, .. } if by == proposal),
        "{early}"
    );
    let by = register.approve(proposal, THEN).await;
    assert_eq!(in_force(&register.store).await, 1);
    // Another server learns of it, and it is known by the entry that approved it.
    let other = Store::open(url, Zone::UTC).await.unwrap();
    let view = other.view().await.unwrap();
    let (_, kept) = view.documents.rule_sets.first_key_value().unwrap();
    assert_eq!((kept.by, &*kept.document), (by, &rule_set()));
    drop(view);
    let again = command(at(THEN), approval);
    let again = register.refuses_of(second_engineer(), again).await;
    let outcome = Outcome::Approved;
    assert_eq!(
        again,
        Refusal::AlreadyDecided {
            proposal,
            outcome,
            by
        }
    );
    register.proves().await;
}

async fn nobody_issues_a_rule_set_alone(url: &str) {
    let mut register = Register::open(url).await;
    let issued = Fact::RuleSetIssued(Box::new(rule_set()));
    for actor in [proposer(), founder("machine".parse().unwrap())] {
        let command = command(at(THEN), issued.clone());
        let alone = register.refuses_of(actor, command).await;
        assert!(matches!(alone, Refusal::NeedsTwoPeople { .. }), "{alone}");
    }
    // Two names in a file count for who runs the machine, and for nobody else.
    let two = Agreement::new("Reed".parse().unwrap(), "Sedge".parse().unwrap());
    let rules = RuleSet {
        agreed: Some(two.unwrap()),
        ..rule_set()
    };
    let agreed = Fact::RuleSetIssued(Box::new(rules.clone()));
    let forged = command(at(THEN), agreed.clone());
    let forged = register.refuses_of(proposer(), forged).await;
    assert!(matches!(forged, Refusal::NeedsTwoPeople { .. }), "{forged}");
    let forged = Fact::Proposed(Proposal::RuleSet(Box::new(rules)));
    let forged = register.refuses(THEN, forged).await;
    assert!(
        matches!(
            forged,
            Refusal::Impossible {
                field: "agreed",
                ..
            }
        ),
        "{forged}"
    );
    let brought = command(at(THEN), agreed);
    register
        .send(founder("machine".parse().unwrap()), brought)
        .await
        .unwrap();
    assert_eq!(in_force(&register.store).await, 1);
    let same = register.refuses(THEN, proposed()).await;
    assert!(matches!(same, Refusal::AlreadyDefined { .. }), "{same}");
    register.proves().await;
}

async fn quarantine_ends_only_when_two_brake_engineers_say_so(url: &str) {
    let mut register = Register::open(url).await;
    let valve = fleet::found(&mut register, "2029-01-01T00:00Z")
        .await
        .valves[0]
        .clone();
    let quarantine = register.record(THEN, judged(&valve, Quarantined)).await;
    let later = "2029-06-02T00:00Z";
    // By no other way: not by a judgement, not by taking the quarantine back.
    let alone = command(at(later), judged(&valve, Serviceable));
    let alone = register.refuses_of(proposer(), alone).await;
    assert!(matches!(alone, Refusal::ConditionForbids { .. }), "{alone}");
    let withdrawn = register.refuses_withdrawal(quarantine).await;
    assert!(
        matches!(withdrawn, Refusal::ConditionForbids { .. }),
        "{withdrawn}"
    );
    for still in [Quarantined, Scrapped] {
        let no_release = register.refuses(later, released(&valve, still)).await;
        assert!(
            matches!(no_release, Refusal::Impossible { .. }),
            "{no_release}"
        );
    }
    let proposal = register.record(later, released(&valve, Serviceable)).await;
    assert_eq!(register.life(&valve).await.record.condition, Quarantined);
    let own = command(at(later), Fact::Approved { proposal });
    let own = register.refuses_of(proposer(), own).await;
    assert_eq!(own, Refusal::SamePerson { by: proposal });
    register.approve(proposal, later).await;
    assert_eq!(register.life(&valve).await.record.condition, Serviceable);
    register.proves().await;
}

async fn what_is_approved_is_checked_again_as_things_stand_then(url: &str) {
    let mut register = Register::open(url).await;
    let valve = fleet::found(&mut register, "2029-01-01T00:00Z")
        .await
        .valves[0]
        .clone();
    register.record(THEN, judged(&valve, Quarantined)).await;
    let serviceable = register.refuses(THEN, released(&fleet::components().valves[1], Serviceable));
    let serviceable = serviceable.await;
    assert!(
        matches!(serviceable, Refusal::ConditionForbids { .. }),
        "{serviceable}"
    );
    let proposal = register.record(THEN, released(&valve, Serviceable)).await;
    register
        .record("2029-06-02T00:00Z", judged(&valve, Scrapped))
        .await;
    let approval = command(at("2029-06-03T00:00Z"), Fact::Approved { proposal });
    let scrapped = register.refuses_of(second_engineer(), approval).await;
    assert!(
        matches!(scrapped, Refusal::ConditionForbids { .. }),
        "{scrapped}"
    );
    register.proves().await;
}

async fn a_proposal_is_rejected_with_a_reason_or_taken_back(url: &str) {
    let mut register = Register::open(url).await;
    let first = register.record(THEN, proposed()).await;
    let second = register.record(THEN, proposed()).await;
    let rejected = |proposal: Seq, reason: &str| {
        let mut command = command(at(THEN), Fact::Rejected { proposal });
        reason.clone_into(&mut command.reason);
        command
    };
    let mute = register
        .refuses_of(second_engineer(), rejected(first, " "))
        .await;
    assert!(
        matches!(
            mute,
            Refusal::Impossible {
                field: "reason",
                ..
            }
        ),
        "{mute}"
    );
    let unknown = register
        .refuses_of(second_engineer(), rejected(Seq(99), "no"))
        .await;
    assert!(matches!(unknown, Refusal::Unknown { .. }), "{unknown}");
    register
        .send(second_engineer(), rejected(first, "row 3 is wrong"))
        .await
        .unwrap();
    register
        .send(proposer(), rejected(second, "seen myself"))
        .await
        .unwrap();
    for proposal in [first, second] {
        let late = command(at(THEN), Fact::Approved { proposal });
        let late = register.refuses_of(second_engineer(), late).await;
        assert!(matches!(late, Refusal::AlreadyDecided { .. }), "{late}");
    }
    assert_eq!(in_force(&register.store).await, 0);
    register.proves().await;
}

/// Two approve at the same instant, through two servers: one does, the other is told.
async fn of_two_who_approve_at_once_one_does(url: &str) {
    let mut register = Register::open(url).await;
    let other = Store::open(url, Zone::UTC).await.unwrap();
    let proposal = register.record(THEN, proposed()).await;
    let third = Actor::account("C. Third".parse().unwrap(), vec![Role::BrakeEngineer]);
    let approval = command(at(THEN), Fact::Approved { proposal });
    let (store, now) = (register.store.clone(), register.now);
    let one = tokio::spawn(async move { store.record(second_engineer(), approval, now).await });
    let two = other
        .record(third, command(at(THEN), Fact::Approved { proposal }), now)
        .await;
    let one = one.await.unwrap();
    assert_ne!(one.is_ok(), two.is_ok(), "{one:?} {two:?}");
    register.proves().await;
}

each_database!(
    a_rule_set_is_in_force_only_after_a_second_brake_engineer_approved,
    nobody_issues_a_rule_set_alone,
    quarantine_ends_only_when_two_brake_engineers_say_so,
    what_is_approved_is_checked_again_as_things_stand_then,
    a_proposal_is_rejected_with_a_reason_or_taken_back,
    of_two_who_approve_at_once_one_does,
);
