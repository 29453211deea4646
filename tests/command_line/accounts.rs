//! `register account`: the first administrator, and who has lost every password.

use super::program::Place;
use domain::people::account::AccountState;
use domain::people::{Actor, Role};
use domain::time::Zone;
use store::Store;
use store::account::Secret;

const ADMINISTRATOR: [&str; 4] = ["account", "A. Name", "--role", "administrator"];

#[tokio::test]
async fn the_first_administrator_is_made_on_the_command_line() {
    let place = Place::fresh();
    let made = place.run_typing(&ADMINISTRATOR, "quail lantern over seven mud");
    // A slip in the address begins a register, which must not go unsaid.
    let begun = format!(
        "A new register was begun at {}; its days begin and end in the time zone UTC.\n\
         Account A. Name is ready.\n",
        place.database()
    );
    assert_eq!(
        (made.code, made.out.as_str()),
        (Some(0), begun.as_str()),
        "{made:?}"
    );
    // Again: another password and other roles.
    let again = ["account", "A. Name", "--role", "planner"];
    let again = place.run_typing(&again, "otter ledger beyond nine fog");
    assert_eq!(again.out, "Account A. Name is ready.\n", "{again:?}");
    let store = Store::open(&place.database(), Zone::UTC).await.unwrap();
    let name = "A. Name".parse().unwrap();
    let account = store.account(&name).await.unwrap().unwrap();
    assert_eq!(
        account.actor,
        Actor::account(name.clone(), vec![Role::Planner])
    );
    assert_eq!(account.state, AccountState::Active);
    assert!(matches!(account.secret, Secret::Own(hash) if hash.starts_with("$argon2id$")));
    let changes = store.changes_of_account(&name).await.unwrap();
    let whats: Vec<&str> = changes.iter().map(|change| change.what.as_str()).collect();
    assert!(
        whats.contains(&"made with the role administrator"),
        "{whats:?}"
    );
    assert!(whats.contains(&"password changed"), "{whats:?}");
}

#[test]
fn roles_that_must_not_meet_are_refused_and_nothing_is_made() {
    let place = Place::fresh();
    let both = [&ADMINISTRATOR[..], &["--role", "brake_engineer"]].concat();
    let refused = place.run_typing(&both, "quail lantern over seven mud");
    assert_eq!(refused.code, Some(1), "{refused:?}");
    let why = "expected no other role beside administrator";
    assert!(refused.err.contains(why), "{refused:?}");
    assert!(!place.path("register.sqlite").exists());
}

#[test]
fn a_password_that_is_soon_guessed_is_refused_and_nothing_is_made() {
    for bad in ["short", "password1234", ""] {
        let place = Place::fresh();
        let refused = place.run_typing(&ADMINISTRATOR, bad);
        assert_eq!(refused.code, Some(1), "{refused:?}");
        assert!(
            refused
                .err
                .contains("the password is not accepted: expected"),
            "{refused:?}"
        );
        assert!(!place.path("register.sqlite").exists());
    }
}
