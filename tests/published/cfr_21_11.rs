//! Electronic signatures: source 21 CFR 11.50. A signed record shows who signed, when, and what
//! the signature means, and all of it is part of every readable copy; 11.70 links it to its
//! record, which here the chain of hashes does.

use domain::configuration::component::Subject;
use domain::ledger::chain::{Letters, link};
use domain::ledger::command::Command;
use domain::people::{Actor, Role};
use store::Recorded;
use tests::each_database;
use tests::facts::{at, done_on};
use tests::fleet::{self, BRAKE_TEST};
use tests::register::{Register, command};

/// 11.50(a)(1) to (3), and (b).
async fn an_entry_holds_name_time_and_meaning(url: &str) {
    let mut register = Register::open(url).await;
    register.now_is("2029-01-01T06:00Z");
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    register.now_is("2029-03-04T15:16:17Z");
    let tester = Actor::account("R. Marsh".parse().unwrap(), vec![Role::Technician]);
    let car = Subject::Car("4101".parse().unwrap());
    let test = Command {
        reason: "after exchange of the relay valve".to_owned(),
        ..command(at("2029-03-04T14:00Z"), done_on(car, BRAKE_TEST))
    };
    let Recorded::Now(entry) = register.send(tester, test).await.unwrap() else {
        panic!("it was not known before");
    };
    let rows = register.tables.rows("ledger").await;
    let seq = Some(entry.seq.0.to_string());
    let row = rows.iter().find(|row| row["seq"] == seq).unwrap();
    assert_eq!(row["actor"].as_deref(), Some("R. Marsh"));
    let when = at("2029-03-04T15:16:17Z").microseconds().to_string();
    assert_eq!(row["recorded_at"], Some(when));
    assert_eq!(row["kind"].as_deref(), Some("task_done"));
    assert_eq!(
        row["reason"].as_deref(),
        Some("after exchange of the relay valve")
    );
    // Whoever puts another name to it breaks the seal.
    let mut forged = entry.clone();
    forged.actor = "S. Heath".parse().unwrap();
    let letters = Letters {
        fact: row["body"].as_deref().unwrap(),
        consequences: row["consequences"].as_deref(),
    };
    assert_ne!(
        link(&[0; 32], &forged, letters),
        link(&[0; 32], &entry, letters)
    );
    register.proves().await;
}

each_database!(an_entry_holds_name_time_and_meaning);
