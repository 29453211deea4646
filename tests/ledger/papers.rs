//! What comes in as fit for use comes with a certificate. Of an existing fleet that is brought in the
//! papers may be unknown, and the life of the component says so.

use domain::configuration::component::Condition;
use domain::ledger::fact::{Fact, Receipt};
use domain::ledger::life::{Lacking, Line, life};
use domain::refusal::Refusal;
use domain::time::Zone;
use tests::each_database;
use tests::facts::{component, fitted, judged, position, receipt};
use tests::fleet::{self, FIRST, VALVE};
use tests::register::Register;

fn without_papers(serial: &str, condition: Condition) -> Fact {
    Fact::ComponentReceived(Receipt {
        condition,
        certificate: None,
        ..receipt(&component(VALVE, serial), "2020-01-01")
    })
}

/// Whether the life of a component says that its papers are unknown.
async fn papers_unknown(register: &Register, serial: &str) -> bool {
    let found = register.life(&component(VALVE, serial)).await;
    let mut view = register.store.view().await.unwrap();
    let entries = view.entries_of(&found.record).await.unwrap();
    let inside = found.surroundings.history.as_slice();
    let known = (&found.record, found.fitments.as_slice(), inside);
    let lines = life(known, entries, (&[], &[]), &Zone::UTC);
    lines
        .iter()
        .any(|line| matches!(line, Line::Gap(gap) if gap.lacking.contains(&Lacking::Papers)))
}

async fn nothing_is_received_as_serviceable_without_a_certificate(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let when = "2029-02-01T00:00Z";
    let bare = without_papers("90", Condition::Serviceable);
    let refusal = register.refuses(when, bare).await;
    assert!(
        matches!(
            refusal,
            Refusal::Impossible {
                field: "certificate",
                ..
            }
        ),
        "{refusal}"
    );
    let said = refusal.to_string();
    assert!(
        said.contains("to be judged") && said.contains("quarantined"),
        "{said}"
    );
    // It comes in to be judged, and is judged on evidence before it is fitted.
    let doubtful = without_papers("90", Condition::RemovedToBeJudged);
    register.record(when, doubtful).await;
    let valve = component(VALVE, "90");
    let here = position("4101", FIRST);
    let unjudged = register
        .refuses("2029-02-02T00:00Z", fitted(&valve, &here))
        .await;
    assert!(
        matches!(unjudged, Refusal::ConditionForbids { .. }),
        "{unjudged}"
    );
    register
        .record("2029-02-03T00:00Z", judged(&valve, Condition::Serviceable))
        .await;
    register
        .record("2029-02-04T00:00Z", fitted(&valve, &here))
        .await;
    assert!(!papers_unknown(&register, "90").await);
    register
        .record(when, without_papers("91", Condition::Quarantined))
        .await;
    register.proves().await;
}

async fn of_a_fleet_that_is_brought_in_the_papers_may_be_unknown_and_are_told_so(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let bare = without_papers("92", Condition::Serviceable);
    register.bring("2029-02-01T00:00Z", bare).await;
    assert!(papers_unknown(&register, "92").await);
    assert!(
        !papers_unknown(&register, "1").await,
        "it came with a certificate"
    );
    register.proves().await;
}

each_database!(
    nothing_is_received_as_serviceable_without_a_certificate,
    of_a_fleet_that_is_brought_in_the_papers_may_be_unknown_and_are_told_so,
);
