//! Source: ISO 10007:2017, Quality management: guidelines for configuration management, read in a
//! publisher's sample and a trade note: of each proposed change the description, justification,
//! consequences, disposition and who gave it are recorded, and all proposals are kept (change
//! control, 5.4); the configuration that is in force is told for any time (status accounting, 5.5);
//! items are examined for conformity with it (configuration audit, 5.6).

use domain::ledger::command::Command;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::{Outcome, Proposal};
use tests::baselines::proposed;
use tests::each_database;
use tests::facts::at;
use tests::fleet;
use tests::register::{Register, command, second_engineer};

const AT: &str = "2029-06-01T00:00Z";

async fn every_proposed_change_of_a_baseline_is_kept_with_its_disposition(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let change = |cars: &str| Command {
        reason: "the second valve is no longer needed".to_owned(),
        ..command(at(AT), proposed("B", cars, "2029-06-01"))
    };
    let approved = register.kept(change("4101")).await.seq;
    let rejected = register.kept(change("4102")).await.seq;
    register.approve(approved, AT).await;
    let rejection = Command {
        reason: "car 4102 keeps both".to_owned(),
        ..command(at(AT), Fact::Rejected { proposal: rejected })
    };
    register.send(second_engineer(), rejection).await.unwrap();
    let mut view = register.store.view().await.unwrap();
    let decided = view.decided_proposals().await.unwrap();
    assert_eq!(decided.len(), 2);
    for (one, outcome) in decided.iter().zip([Outcome::Rejected, Outcome::Approved]) {
        let (was, _) = one.record.decided.unwrap();
        assert_eq!(was, outcome);
        assert_ne!(one.record.by, one.decided_by);
        assert!(matches!(one.record.proposal, Proposal::Effectivity(_)));
        let kept = view.entry(one.record.id).await.unwrap().unwrap();
        assert!(!kept.entry.reason.is_empty());
    }
    drop(view);
    // Status accounting and audit: what is in force, and what does not conform to it.
    assert_eq!(register.revision("4101", "2029-06-01").await, "B");
    assert_eq!(register.revision("4102", "2029-06-01").await, "A");
    assert_eq!(register.departures("4101", "2029-06-01").await.len(), 2);
    assert_eq!(register.departures("4102", "2029-06-01").await.len(), 3);
    register.proves().await;
}

each_database!(every_proposed_change_of_a_baseline_is_kept_with_its_disposition);
