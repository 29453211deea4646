//! The chain of entries: whoever changes the ledger past the program is found out, and the first
//! bad entry is named.

use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::time::Zone;
use store::{Break, Store, StoreError};
use tests::each_database;
use tests::facts::{fitted, position, read, removed};
use tests::fleet::{self, FIRST};
use tests::register::Register;
use tests::tables::{Dialect, Tables};

/// Entries of the fleet, four more, and one that corrects the last but one.
async fn written(url: &str) -> Register {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let valve = &components.valves[0];
    register
        .record("2029-02-01T00:00Z", fitted(valve, &position("4101", FIRST)))
        .await;
    register
        .record("2029-02-01T00:00Z", read("4101", 1_000))
        .await;
    let removal = register.record("2029-03-01T00:00Z", removed(valve)).await;
    register
        .record("2029-03-01T00:00Z", read("4101", 9_000))
        .await;
    register.withdraw(removal).await;
    register
}

/// Where a proof of the chain finds that it breaks, if it does.
async fn broken(store: &Store) -> Option<Break> {
    match store.verify(|_| ()).await {
        Ok(_) => None,
        Err(StoreError::Broken(how)) => Some(how),
        Err(other) => panic!("{other}"),
    }
}

/// The entry that a proof of the chain names as damaged; none where the chain holds.
async fn first_bad(store: &Store) -> Option<Seq> {
    match broken(store).await? {
        Break::Damaged { seq, .. } => Some(seq),
        other => panic!("{other}"),
    }
}

/// What either way of folding the ledger again says where it refuses to; none where it does not.
async fn not_folded(store: &Store) -> Option<String> {
    let file = tests::sqlite::SqliteFile::fresh();
    let scratch = Store::open(file.url(), Zone::UTC).await.unwrap();
    let compared = store.compare_with_rebuild(&scratch, |_| ()).await;
    let replaced = store.rebuild(|_| ()).await;
    let compared = compared.err().map(|why| why.to_string());
    assert_eq!(replaced.err().map(|why| why.to_string()), compared);
    compared
}

async fn last_entry(tables: &mut Tables) -> i64 {
    tables.number("select seq from ledger_head").await
}

/// What may be done to an entry, as a statement in which `$` is its number.
fn changes(tables: &Tables) -> Vec<String> {
    let later = match tables.dialect() {
        Dialect::Sqlite => "1",
        Dialect::Postgres => "interval '1 microsecond'",
    };
    let (bytes, id) = match tables.dialect() {
        Dialect::Sqlite => ("x'00'", "x'000102030405060708090a0b0c0d0e0f'"),
        Dialect::Postgres => ("'\\x00'", "'00010203-0405-0607-0809-0a0b0c0d0e0f'"),
    };
    let set = [
        format!("recorded_at = recorded_at + {later}"),
        format!("effective_at = effective_at + {later}"),
        format!("command = {id}"),
        format!("hash = {bytes}"),
        "actor = actor || 'x'".to_owned(),
        // A name that the program would not have written.
        "actor = actor || ' '".to_owned(),
        "reason = reason || 'x'".to_owned(),
        // An entry corrects the first part where it corrected nothing or a removal.
        "corrects = 1".to_owned(),
        "kind = 'withdrawn'".to_owned(),
        "kind = 'nonsense'".to_owned(),
        // The same fact in other letters is another body.
        "body = body || ' '".to_owned(),
        "body = replace(body, '9', '8')".to_owned(),
        "body = 'nonsense'".to_owned(),
        // What an entry told late or a correction changed is in its hash, too.
        "consequences = null".to_owned(),
        "consequences = '{}'".to_owned(),
        "consequences = consequences || ' '".to_owned(),
        "consequences = replace(consequences, '9', '8')".to_owned(),
        "consequences = 'nonsense'".to_owned(),
    ];
    let update = |set: String| format!("update ledger set {set} where seq = $");
    let mut changes: Vec<String> = set.into_iter().map(update).collect();
    if tables.dialect() == Dialect::Sqlite {
        // What cannot be read at all is named as well.
        changes.push("update ledger set command = x'00' where seq = $".to_owned());
        changes.push("update ledger set recorded_at = 9e18 where seq = $".to_owned());
    }
    changes
}

async fn the_chain_of_what_was_recorded_holds(url: &str) {
    let mut register = written(url).await;
    let mut told = Vec::new();
    let proven = register.store.verify(|seq| told.push(seq)).await.unwrap();
    let last = last_entry(&mut register.tables).await;
    assert_eq!((proven.entries, told), (last, vec![last]));
    // The hash to be noted elsewhere is that of the last entry.
    let rows = register.tables.rows("ledger_head").await;
    let noted = proven.hash.map(|byte| format!("{byte:02x}")).concat();
    assert_eq!(rows[0]["hash"], Some(noted));
}

async fn an_empty_ledger_holds(url: &str) {
    let register = Register::open(url).await;
    assert_eq!(register.store.verify(|_| ()).await.unwrap().entries, 0);
}

async fn any_changed_column_is_found_and_its_entry_named(url: &str) {
    let mut register = written(url).await;
    let last = last_entry(&mut register.tables).await;
    let told =
        format!("select count(*) from ledger where {last} - 1 <= seq and consequences <> '{{}}'");
    assert_eq!(
        register.tables.number(&told).await,
        2,
        "both tell something"
    );
    let backup = "create table kept as select * from ledger";
    register.tables.execute(backup).await;
    for change in changes(&register.tables) {
        // The last entry but one holds a 9, the last one corrects another; both changed the past.
        for seq in [last - 1, last] {
            let before = register.tables.rows("ledger").await;
            let statement = change.replace('$', &seq.to_string());
            register.tables.execute(&statement).await;
            let changed = register.tables.rows("ledger").await != before;
            let expected = changed.then_some(Seq(seq));
            assert_eq!(first_bad(&register.store).await, expected, "{statement}");
            register.tables.execute("delete from ledger").await;
            register
                .tables
                .execute("insert into ledger select * from kept")
                .await;
        }
    }
    assert_eq!(first_bad(&register.store).await, None);
}

/// Puts a copy of an entry into the ledger under another number.
fn added(dialect: Dialect, seq: i64) -> String {
    let id = match dialect {
        Dialect::Sqlite => "x'000102030405060708090a0b0c0d0e0f'",
        Dialect::Postgres => "'00010203-0405-0607-0809-0a0b0c0d0e0f'",
    };
    format!(
        "insert into ledger (seq, command, recorded_at, effective_at, actor, reason, corrects, kind, body, hash) select {seq}, {id}, recorded_at, effective_at, actor, reason, corrects, kind, body, hash from ledger where seq = 4"
    )
}

async fn entries_that_are_missing_swapped_or_added_are_found(url: &str) {
    let mut register = written(url).await;
    let last = last_entry(&mut register.tables).await;
    register
        .tables
        .execute("create table kept as select * from ledger")
        .await;
    let swapped =
        "update ledger set seq = -4 where seq = 4; update ledger set seq = 4 where seq = 5;
        update ledger set seq = 5 where seq = -4";
    let dialect = register.tables.dialect();
    for (statement, told) in [
        (
            "delete from ledger where seq = 1".to_owned(),
            "entry 1 is missing: entry 2 is there".to_owned(),
        ),
        (
            "delete from ledger where seq in (4, 5)".to_owned(),
            "entries 4 to 5 are missing: entry 6 is there".to_owned(),
        ),
        (
            format!("delete from ledger where seq = {last}"),
            format!(
                "entry {last} is missing: the head of the ledger says that the last entry is {last}"
            ),
        ),
        (
            swapped.to_owned(),
            "entry 4 is damaged: its hash does not follow from its contents and the hash before it"
                .to_owned(),
        ),
        (
            added(dialect, last + 1),
            format!(
                "entry {} was added past the program: the head of the ledger says that the last entry is {last}",
                last + 1
            ),
        ),
        (
            "delete from ledger".to_owned(),
            format!(
                "entries 1 to {last} are missing: the head of the ledger says that the last entry is {last}"
            ),
        ),
        (
            added(dialect, 0),
            "entry 0 was added past the program: the first entry is 1".to_owned(),
        ),
        (
            added(dialect, -3),
            "entry -3 was added past the program: the first entry is 1".to_owned(),
        ),
    ] {
        register.tables.execute(&statement).await;
        let how = broken(&register.store).await.map(|how| how.to_string());
        assert_eq!(how, Some(told), "{statement}");
        assert_eq!(not_folded(&register.store).await, how, "{statement}");
        register.tables.execute("delete from ledger").await;
        register
            .tables
            .execute("insert into ledger select * from kept")
            .await;
    }
    assert_eq!(first_bad(&register.store).await, None);
    assert_eq!(not_folded(&register.store).await, None);
}

async fn a_head_that_does_not_agree_is_found(url: &str) {
    let mut register = written(url).await;
    let last = last_entry(&mut register.tables).await;
    let bytes = match register.tables.dialect() {
        Dialect::Sqlite => "x'",
        Dialect::Postgres => "'\\x",
    };
    let zeros = "0".repeat(64);
    for (statement, told) in [
        (
            "update ledger_head set seq = seq - 1".to_owned(),
            format!(
                "entry {} is damaged: the head of the ledger holds another hash of it",
                last - 1
            ),
        ),
        (
            "update ledger_head set seq = seq + 1".to_owned(),
            format!(
                "entry {0} is missing: the head of the ledger says that the last entry is {0}",
                last + 1
            ),
        ),
        (
            format!("update ledger_head set hash = {bytes}{zeros}'"),
            format!("entry {last} is damaged: the head of the ledger holds another hash of it"),
        ),
        (
            format!("update ledger_head set hash = {bytes}00'"),
            format!("entry {last} is damaged: its hash has a wrong length"),
        ),
        (
            "delete from ledger_head".to_owned(),
            format!(
                "entries 1 to {last} were added past the program: the head of the ledger says that there is no entry"
            ),
        ),
    ] {
        register
            .tables
            .execute("create table kept as select * from ledger_head")
            .await;
        register.tables.execute(&statement).await;
        let how = broken(&register.store).await.map(|how| how.to_string());
        assert_eq!(how, Some(told), "{statement}");
        assert_eq!(not_folded(&register.store).await, how, "{statement}");
        register.tables.execute("delete from ledger_head").await;
        register
            .tables
            .execute("insert into ledger_head select * from kept; drop table kept")
            .await;
    }
    assert_eq!(first_bad(&register.store).await, None);
    assert_eq!(last_entry(&mut register.tables).await, last);
}

async fn a_changed_projection_is_found_and_a_rebuild_mends_it(url: &str) {
    let mut register = written(url).await;
    let before = register.tables.contents().await;
    let damage = "update component set condition = 'scrapped'; delete from due;
        update reading set shown = shown + 1; delete from fitment where known_until is not null";
    register.tables.execute(damage).await;
    let file = tests::sqlite::SqliteFile::fresh();
    let scratch = Store::open(file.url(), Zone::UTC).await.unwrap();
    let comparison = register
        .store
        .compare_with_rebuild(&scratch, |_| ())
        .await
        .unwrap();
    assert!(4 < comparison.different);
    for table in ["component", "due", "reading", "fitment"] {
        let named = format!("{table}: kept ");
        assert!(
            comparison
                .differences
                .iter()
                .any(|text| text.starts_with(&named)),
            "{table}"
        );
    }
    register.store.rebuild(|_| ()).await.unwrap();
    assert_eq!(register.tables.contents().await, before);
    register.proves().await;
}

async fn an_entry_is_never_changed_by_a_later_one(url: &str) {
    let mut register = written(url).await;
    let before = register.tables.rows("ledger").await;
    let last = last_entry(&mut register.tables).await;
    let reading = Seq(last - 1);
    register
        .correct(reading, "2029-03-01T00:00Z", read("4101", 8_000))
        .await;
    register.store.rebuild(|_| ()).await.unwrap();
    let after = register.tables.rows("ledger").await;
    assert!(before.iter().all(|entry| after.contains(entry)));
    let mut view = register.store.view().await.unwrap();
    let kept = view.entry(reading).await.unwrap().unwrap();
    assert!(matches!(kept.entry.fact, Fact::ReadingTaken(_)));
    assert_eq!(kept.corrected_by, Some(Seq(last + 1)));
}

each_database!(
    the_chain_of_what_was_recorded_holds,
    an_empty_ledger_holds,
    any_changed_column_is_found_and_its_entry_named,
    entries_that_are_missing_swapped_or_added_are_found,
    a_head_that_does_not_agree_is_found,
    a_changed_projection_is_found_and_a_rebuild_mends_it,
    an_entry_is_never_changed_by_a_later_one,
);
