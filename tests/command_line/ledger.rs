//! `register verify` and `register rebuild` on a register that somebody changed past the program.

use super::program::{GOOD, Place};
use tests::tables::Tables;

/// A register with three entries.
fn filled() -> Place {
    let place = Place::fresh();
    place.input("fleet", &GOOD);
    let done = place.run_on_database(&["import", "fleet"]);
    assert_eq!(done.code, Some(0), "{done:?}");
    place
}

async fn change(place: &Place, statement: &str) {
    let mut tables = Tables::open(&place.database()).await;
    tables.execute(statement).await;
}

#[tokio::test]
async fn the_first_bad_entry_of_a_damaged_ledger_is_named() {
    let place = filled();
    change(
        &place,
        "update ledger set body = replace(body, 'caliper', 'hose') where seq = 2",
    )
    .await;
    let broken = place.run_on_database(&["verify"]);
    assert_eq!(broken.code, Some(1), "{broken:?}");
    assert!(
        broken.err.starts_with("The chain is broken: "),
        "{broken:?}"
    );
    assert!(broken.err.contains("entry 2 is damaged"), "{broken:?}");
}

/// A ledger whose end was cut off is whole as far as it goes: only its head knows that more was there.
#[tokio::test]
async fn entries_that_were_cut_off_are_told_as_missing_and_not_as_damaged() {
    let place = filled();
    change(&place, "delete from ledger where seq = 3").await;
    let broken = place.run_on_database(&["verify"]);
    assert_eq!(broken.code, Some(1), "{broken:?}");
    let told = "The chain is broken: entry 3 is missing: the head of the ledger says that the last entry is 3.\n";
    assert!(broken.err.ends_with(told), "{broken:?}");
    let told = told.replace("The chain is broken", "Not done");
    for folded in [&["rebuild"][..], &["rebuild", "--replace"]] {
        let refused = place.run_on_database(folded);
        assert_eq!(refused.code, Some(1), "{refused:?}");
        assert!(refused.err.ends_with(&told), "{refused:?}");
    }
}

#[tokio::test]
async fn an_exported_ledger_proves_itself_and_a_changed_one_does_not() {
    let place = filled();
    let refused = place.run_on_database(&["export", "copy.jsonl", "--to", "9"]);
    assert_eq!(refused.code, Some(1), "{refused:?}");
    assert!(
        refused.err.contains("the register has entries 1 to 3"),
        "{refused:?}"
    );
    let written = place.run_on_database(&["export", "copy.jsonl"]);
    assert_eq!(written.code, Some(0), "{written:?}");
    let again = place.run_on_database(&["export", "copy.jsonl"]);
    assert_eq!(again.code, Some(1), "nothing is written over: {again:?}");
    let part = place.run_on_database(&["export", "part.jsonl", "--from", "2", "--to", "2"]);
    assert_eq!(part.code, Some(0), "{part:?}");

    // The register itself and the copy end with the same hash.
    let proven = place.run_on_database(&["verify"]);
    let hash = proven
        .out
        .trim()
        .trim_end_matches('.')
        .rsplit(' ')
        .next()
        .unwrap();
    let whole = place.run(&["verify", "copy.jsonl"]);
    let says = format!("The file is whole: entries 1 to 3, last hash {hash}.");
    assert!(
        whole.code == Some(0) && whole.out.starts_with(&says),
        "{whole:?}"
    );
    let part = place.run(&["verify", "part.jsonl"]);
    assert!(
        part.out.starts_with("The file is whole: entries 2 to 2, "),
        "{part:?}"
    );
    assert!(
        part.out.contains(&format!("entry 3 then, hash {hash}")),
        "{part:?}"
    );

    let copy = std::fs::read_to_string(place.path("copy.jsonl")).unwrap();
    let changed = copy.replace("caliper", "hose");
    std::fs::write(place.path("changed.jsonl"), changed).unwrap();
    let changed = place.run(&["verify", "changed.jsonl"]);
    assert_eq!(changed.code, Some(1), "{changed:?}");
    assert!(
        changed
            .err
            .starts_with("The file proves nothing: entry 2 is damaged"),
        "{changed:?}"
    );
    let none = place.run(&["verify", "none.jsonl"]);
    assert!(
        none.code == Some(1) && none.err.contains("none.jsonl cannot be read"),
        "{none:?}"
    );
}

#[test]
fn a_file_that_is_no_database_is_an_error_and_stays_as_it_is() {
    let place = Place::fresh();
    let words = "this is no database but some words that are long enough for a header of one\n";
    std::fs::write(place.path("register.sqlite"), words.repeat(20)).unwrap();
    let refused = place.run_on_database(&["verify"]);
    assert_eq!(refused.code, Some(1), "{refused:?}");
    assert!(refused.err.starts_with("Not done: "), "{refused:?}");
    let left = std::fs::read_to_string(place.path("register.sqlite")).unwrap();
    assert_eq!(left, words.repeat(20));
}

#[tokio::test]
async fn a_rebuild_compares_names_what_differs_and_replaces_it_when_asked() {
    let place = filled();
    let same = place.run_on_database(&["rebuild"]);
    assert_eq!(same.code, Some(0), "{same:?}");
    assert!(
        same.out.ends_with("rows follow from the ledger.\n"),
        "{same:?}"
    );

    change(&place, "update component set location = 'elsewhere'").await;
    let different = place.run_on_database(&["rebuild"]);
    assert_eq!(different.code, Some(1), "{different:?}");
    assert!(different.err.contains("elsewhere"), "{different:?}");
    assert!(
        different.err.contains("Nothing was changed"),
        "{different:?}"
    );

    let replaced = place.run_on_database(&["rebuild", "--replace"]);
    assert_eq!(replaced.code, Some(0), "{replaced:?}");
    let again = place.run_on_database(&["rebuild"]);
    assert_eq!(again.code, Some(0), "{again:?}");
}
