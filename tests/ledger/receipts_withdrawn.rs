//! One plate that came in twice: the receipt of what does not exist is withdrawn, so long as nothing
//! else is said of it; what was known stays, and the serial number may come in again.

use domain::configuration::component::{ComponentRef, Condition};
use domain::identity::LocationName;
use domain::ledger::entry::Seq;
use domain::ledger::fact::{Fact, Receipt};
use domain::refusal::Refusal;
use store::read::AsAt;
use store::read::stock_then::Stocked;
use tests::each_database;
use tests::facts::{component, fitted, judged, position, receipt};
use tests::fleet::{self, FIRST};
use tests::register::Register;

const RECEIVED: &str = "2029-02-01T00:00Z";
const FITTED: &str = "2029-02-02T00:00Z";

/// The components whose serial number folds to this.
async fn found(register: &Register, serial: &str) -> Vec<String> {
    let mut view = register.store.view().await.unwrap();
    let found = view.components_by_serial(serial).await.unwrap();
    let names = found
        .iter()
        .map(|record| record.component.serial.to_string());
    names.collect()
}

fn came(component: &ComponentRef) -> Fact {
    Fact::ComponentReceived(receipt(component, "2028-01-01"))
}

async fn receive(register: &mut Register, serial: &str) -> (ComponentRef, Seq) {
    let component = component(fleet::VALVE, serial);
    let seq = register.record(RECEIVED, came(&component)).await;
    (component, seq)
}

async fn a_receipt_that_nothing_refers_to_is_withdrawn_and_may_be_made_anew(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let known = register.now;
    let (twin, received) = receive(&mut register, "99-R0001").await;
    let withdrawn = register.withdraw(received).await;
    assert!(found(&register, "99R0001").await.is_empty());
    let mut view = register.store.view().await.unwrap();
    assert!(view.component_record(&twin).await.unwrap().is_none());
    let by = view.receipt_withdrawn(&twin).await.unwrap();
    assert_eq!(by, Some(withdrawn));
    // What was known before is still told.
    let store: LocationName = "Store".parse().unwrap();
    let then = AsAt {
        effective: known,
        known,
    };
    let told = view.stock_told(Stocked::Location(&store), then).await;
    let told = told.unwrap();
    assert!(told.iter().any(|record| record.component == twin));
    drop(view);
    let none = register.refuses(FITTED, fitted(&twin, &position("4101", FIRST)));
    let none = none.await;
    assert!(matches!(none, Refusal::Unknown { .. }), "{none}");
    register.proves().await;
    let (_, again) = receive(&mut register, "99-R0001").await;
    let id = register.life(&twin).await.record.id;
    assert_eq!(id, again, "it is another component with that serial number");
    register
        .record(FITTED, fitted(&twin, &position("4101", FIRST)))
        .await;
    register.proves().await;
}

async fn what_refers_to_a_component_is_named_where_its_receipt_is_to_be_withdrawn(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let (twin, received) = receive(&mut register, "99-R0001").await;
    let fit = register
        .record(FITTED, fitted(&twin, &position("4101", FIRST)))
        .await;
    let refused = register.refuses_withdrawal(received).await;
    assert!(
        matches!(refused, Refusal::Contradicts { by, .. } if by == fit),
        "{refused}"
    );
    register.withdraw(fit).await;
    let judgement = judged(&twin, Condition::Unserviceable);
    let judgement = register.record(FITTED, judgement).await;
    let refused = register.refuses_withdrawal(received).await;
    assert!(
        matches!(refused, Refusal::Contradicts { by, .. } if by == judgement),
        "{refused}"
    );
    // What was itself taken back refers to nothing any more, and what was known of it stays.
    register.withdraw(judgement).await;
    let corrected = register.correct(received, RECEIVED, came(&twin)).await;
    register.withdraw(corrected).await;
    assert!(found(&register, "99R0001").await.is_empty());
    let twice = register.refuses_withdrawal(corrected).await;
    assert!(matches!(twice, Refusal::Contradicts { .. }), "{twice}");
    register.proves().await;
}

async fn what_came_in_held_does_not_become_free_by_withdrawing_its_receipt(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let held = [Condition::Quarantined, Condition::BeyondSalvage];
    for (serial, condition) in ["99-R0011", "99-R0012"].into_iter().zip(held) {
        let component = component(fleet::VALVE, serial);
        let came = Fact::ComponentReceived(Receipt {
            condition,
            ..receipt(&component, "2028-01-01")
        });
        let received = register.record(RECEIVED, came).await;
        let refused = register.refuses_withdrawal(received).await;
        assert!(
            matches!(&refused, Refusal::ConditionForbids { condition: it, .. } if *it == condition),
            "{refused}"
        );
    }
    register.proves().await;
}

each_database!(
    what_came_in_held_does_not_become_free_by_withdrawing_its_receipt,
    a_receipt_that_nothing_refers_to_is_withdrawn_and_may_be_made_anew,
    what_refers_to_a_component_is_named_where_its_receipt_is_to_be_withdrawn,
);
