//! Many commands at once: all of them are recorded or none, and as if one by one.

use domain::ledger::command::Command;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::record::founder;
use domain::people::Actor;
use domain::refusal::Refusal;
use domain::time::{Instant, Zone};
use store::{Go, ImportProgress, ImportWatch, Imported, Store};
use tests::each_database;
use tests::facts::{
    at, car, done, fitted, fitted_until, isolated, isolation_ended, leakage_tested, moved,
    odometer_replaced, position, read, removed, swapped, unit,
};
use tests::fleet::{self, COCK, FIRST, OVERHAUL, SECOND, UNIT, overhaul};
use tests::register::{Register, command, correction};
use tests::sqlite::SqliteFile;
use tests::tables::{Contents, Tables};

/// Who brings in what was agreed before.
fn agreed() -> Actor {
    founder("machine".parse().unwrap())
}

/// Watches an import: notes what was refused, and stops it after so many reports.
#[derive(Debug)]
struct Watch {
    refused: Vec<(usize, Refusal)>,
    reports: usize,
    stop_at: usize,
    keep: bool,
    asked: bool,
}

impl Watch {
    fn keeping() -> Self {
        Self {
            refused: Vec::new(),
            reports: 0,
            stop_at: usize::MAX,
            keep: true,
            asked: false,
        }
    }
}

impl ImportWatch<usize> for Watch {
    fn refused(&mut self, tag: usize, refusal: Refusal) {
        self.refused.push((tag, refusal));
    }

    fn progress(&mut self, _: ImportProgress) -> Go {
        self.reports += 1;
        if self.reports == self.stop_at {
            Go::Stop
        } else {
            Go::On
        }
    }

    fn keep(&mut self) -> bool {
        self.asked = true;
        self.keep
    }
}

/// Imports commands, each with its place as its tag.
async fn import(store: &Store, commands: &[Command], now: Instant, watch: &mut Watch) -> Imported {
    let commands = commands.iter().cloned().enumerate();
    let engineer = agreed();
    store.import(&engineer, now, commands, watch).await.unwrap()
}

/// The fleet and its life for half a year, with corrections.
fn life() -> Vec<Command> {
    let components = fleet::components();
    let [one, other, third, ..] = &components.valves[..] else {
        unreachable!()
    };
    let (a, b, c) = (
        position("4101", FIRST),
        position("4102", FIRST),
        position("4103", SECOND),
    );
    let cock = position("4101", COCK);
    let founded = fleet::design()
        .into_iter()
        .chain(fleet::receipts(&components));
    let mut facts: Vec<(&str, Fact)> = founded.map(|fact| ("2029-01-01T00:00Z", fact)).collect();
    let tested = leakage_tested("T 1", "4101", at("2029-03-08T00:00Z"), "0.1");
    facts.extend([
        ("2029-02-01T00:00Z", read("4101", 1_000)),
        ("2029-02-01T00:00Z", fitted(one, &a)),
        ("2029-02-02T00:00Z", fitted(other, &b)),
        ("2029-03-01T00:00Z", read("4101", 12_000)),
        ("2029-03-05T00:00Z", swapped(one, other)),
        ("2029-03-06T00:00Z", moved(one, &c)),
        ("2029-03-07T00:00Z", isolated(&cock)),
        ("2029-03-08T00:00Z", tested),
        ("2029-03-09T00:00Z", isolation_ended(&cock, "T 1")),
        ("2029-03-10T00:00Z", odometer_replaced("4101", 14_000, 0)),
        ("2029-03-20T00:00Z", done(other, OVERHAUL)),
        ("2029-04-01T00:00Z", removed(other)),
        (
            "2029-01-05T00:00Z",
            fitted_until(third, &a, at("2029-01-20T00:00Z")),
        ),
        ("2029-04-02T00:00Z", car("4101", "A", "South")),
        ("2029-04-03T00:00Z", Fact::TaskDefined(overhaul("B", 60))),
        ("2029-04-04T00:00Z", unit(UNIT, &["4102", "4103"])),
        ("2029-04-05T00:00Z", read("4101", 5_000)),
    ]);
    let mut commands: Vec<Command> = facts
        .into_iter()
        .map(|(when, fact)| command(at(when), fact))
        .collect();
    // Entry numbers are places counted from 1: the last reading and the removal were wrong, and
    // so was the correction of the removal.
    let place = |wanted: &dyn Fn(&Fact) -> bool| {
        let place = commands
            .iter()
            .rposition(|command| wanted(&command.fact))
            .unwrap();
        Seq(i64::try_from(place + 1).unwrap())
    };
    let reading = place(&|fact| matches!(fact, Fact::ReadingTaken(_)));
    let removal = place(&|fact| matches!(fact, Fact::Removed { .. }));
    let again = Seq(i64::try_from(commands.len() + 2).unwrap());
    commands.extend([
        correction(reading, at("2029-04-05T00:00Z"), read("4101", 4_000)),
        correction(removal, at("2029-04-02T00:00Z"), removed(other)),
        correction(again, at("2029-04-03T00:00Z"), removed(other)),
        command(at("2029-04-06T00:00Z"), fitted(third, &a)),
    ]);
    commands
}

/// Morning of the day on which everything is recorded.
const NOW: &str = "2030-01-01T06:00Z";

async fn contents(url: &str) -> Contents {
    Tables::open(url).await.contents().await
}

/// What an entry told late changes is worked out where a person records it, not for a whole
/// fleet that is brought in; the hash of an entry is over it.
fn without_consequences(contents: &mut Contents) {
    for table in ["ledger", "ledger_head"] {
        for row in contents.get_mut(table).expect("a table") {
            row.remove("consequences");
            row.remove("hash");
        }
    }
}

async fn an_import_gives_what_recording_one_by_one_gives(url: &str) {
    let commands = life();
    let imported = Store::open(url, Zone::UTC).await.unwrap();
    let mut watch = Watch::keeping();
    let outcome = import(&imported, &commands, at(NOW), &mut watch).await;
    assert_eq!(watch.refused, []);
    let Imported::Kept(progress) = outcome else {
        panic!("{outcome:?}");
    };
    let count = u64::try_from(commands.len()).unwrap();
    assert_eq!(
        (progress.recorded, progress.unchanged, progress.refused),
        (count, 0, 0)
    );

    let file = SqliteFile::fresh();
    let recorded = Store::open(file.url(), Zone::UTC).await.unwrap();
    for command in commands {
        recorded.record(agreed(), command, at(NOW)).await.unwrap();
    }
    let (mut ours, mut theirs) = (contents(url).await, contents(file.url()).await);
    without_consequences(&mut ours);
    without_consequences(&mut theirs);
    for (table, rows) in theirs {
        assert_eq!(ours[&table], rows, "{table}");
    }
    assert_eq!(
        (ours["stale_car"].len(), ours["stale_component"].len()),
        (0, 0)
    );
    Register::open(url).await.proves().await;
}

async fn one_refusal_leaves_everything_as_it_was_and_all_are_reported(url: &str) {
    let register = Register::open(url).await;
    let before = contents(url).await;
    let mut commands = life();
    let one = &fleet::components().valves[0];
    let when = at("2029-05-01T00:00Z");
    let unit_of_strangers = unit("42", &["4199"]);
    commands.insert(20, command(when, unit_of_strangers));
    commands.push(command(when, fitted(one, &position("4101", SECOND))));
    commands.push(correction(Seq(1), when, Fact::Withdrawn));
    commands.push(command(when, read("4102", 7)));
    let mut watch = Watch::keeping();
    let outcome = import(&register.store, &commands, at(NOW), &mut watch).await;
    let places: Vec<usize> = watch.refused.iter().map(|(place, _)| *place).collect();
    let last = commands.len() - 1;
    assert_eq!(places, [20, last - 2, last - 1]);
    // Nobody is asked whether half of it shall be kept.
    assert!(!watch.asked);
    let Imported::LeftAsItWas(progress) = outcome else {
        panic!("{outcome:?}");
    };
    assert_eq!(progress.refused, 3);
    assert_eq!(contents(url).await, before);
}

/// A table of fitments is brought in again when some of them have ended.
async fn the_end_of_a_fitment_that_is_in_the_register_is_brought_in(url: &str) {
    let register = Register::open(url).await;
    let one = &fleet::components().valves[0];
    let place = position("4101", FIRST);
    let since = at("2029-02-01T00:00Z");
    let mut commands: Vec<Command> = fleet::design()
        .into_iter()
        .chain(fleet::receipts(&fleet::components()))
        .map(|fact| command(at("2029-01-01T00:00Z"), fact))
        .collect();
    commands.push(command(since, fitted(one, &place)));
    let brought = |count, commands: &[Command]| {
        let (store, commands) = (register.store.clone(), commands.to_vec());
        async move {
            let outcome = import(&store, &commands, at(NOW), &mut Watch::keeping()).await;
            let Imported::Kept(progress) = outcome else {
                panic!("{outcome:?}");
            };
            assert_eq!(progress.recorded, count);
        }
    };
    brought(u64::try_from(commands.len()).unwrap(), &commands).await;
    let ended = fitted_until(one, &place, at("2029-03-01T00:00Z"));
    let last = commands.len() - 1;
    commands[last] = command(since, ended);
    brought(1, &commands).await;
    let life = register.life(one).await;
    assert_eq!(life.fitments.len(), 1);
    assert_eq!(
        life.fitments[0].end.as_ref().map(|end| end.at),
        Some(at("2029-03-01T00:00Z"))
    );
    brought(0, &commands).await;
    register.proves().await;
}

async fn a_dry_run_changes_nothing(url: &str) {
    let register = Register::open(url).await;
    let before = contents(url).await;
    let mut watch = Watch {
        keep: false,
        ..Watch::keeping()
    };
    let commands = life();
    let outcome = import(&register.store, &commands, at(NOW), &mut watch).await;
    assert!(watch.asked && watch.refused.is_empty());
    assert!(matches!(outcome, Imported::LeftAsItWas(_)));
    assert_eq!(contents(url).await, before);
    // And what it was told about design data is forgotten.
    let mut register = register;
    let unknown = register
        .refuses("2029-02-01T00:00Z", car("4101", "A", "North"))
        .await;
    assert!(
        matches!(
            unknown,
            Refusal::Unknown {
                what: "car_type",
                ..
            }
        ),
        "{unknown}"
    );
}

async fn the_same_input_again_changes_nothing(url: &str) {
    let register = Register::open(url).await;
    let commands = life();
    import(&register.store, &commands, at(NOW), &mut Watch::keeping()).await;
    let once = contents(url).await;
    let mut watch = Watch::keeping();
    let later = at("2030-01-02T06:00Z");
    let outcome = import(&register.store, &commands, later, &mut watch).await;
    let count = u64::try_from(commands.len()).unwrap();
    let unchanged = ImportProgress {
        unchanged: count,
        ..ImportProgress::default()
    };
    assert_eq!(outcome, Imported::Kept(unchanged));
    assert_eq!(watch.refused, []);
    assert_eq!(contents(url).await, once);
}

async fn an_input_that_goes_on_is_taken_from_where_it_was(url: &str) {
    let register = Register::open(url).await;
    let commands = life();
    let (first, _) = commands.split_at(25);
    import(&register.store, first, at(NOW), &mut Watch::keeping()).await;
    let mut watch = Watch::keeping();
    let outcome = import(&register.store, &commands, at(NOW), &mut watch).await;
    let Imported::Kept(progress) = outcome else {
        panic!("{outcome:?}: {:?}", watch.refused);
    };
    let rest = u64::try_from(commands.len() - 25).unwrap();
    assert_eq!((progress.unchanged, progress.recorded), (25, rest));
    register.proves().await;
}

async fn a_command_that_stands_twice_in_one_input_is_refused(url: &str) {
    let register = Register::open(url).await;
    let mut commands = life();
    commands.push(commands[3].clone());
    let mut watch = Watch::keeping();
    let outcome = import(&register.store, &commands, at(NOW), &mut watch).await;
    assert!(matches!(outcome, Imported::LeftAsItWas(_)));
    let repeated = Refusal::Repeated { by: Seq(4) };
    assert_eq!(watch.refused, [(commands.len() - 1, repeated)]);
}

async fn an_import_that_is_stopped_changes_nothing(url: &str) {
    let register = Register::open(url).await;
    let before = contents(url).await;
    let commands = life();
    let mut watch = Watch::keeping();
    let whole = import(&register.store, &commands, at(NOW), &mut watch).await;
    assert!(matches!(whole, Imported::Kept(_)));
    let reports = watch.reports;
    assert!(2 < reports);
    // In the middle of the commands, and while due dates are worked out at the end.
    for stop_at in [1, 2, reports] {
        let file = SqliteFile::fresh();
        let fresh = Store::open(file.url(), Zone::UTC).await.unwrap();
        let mut watch = Watch {
            stop_at,
            ..Watch::keeping()
        };
        let outcome = import(&fresh, &commands, at(NOW), &mut watch).await;
        assert!(matches!(outcome, Imported::LeftAsItWas(_)), "{stop_at}");
        let after = contents(file.url()).await;
        assert!(
            after
                .values()
                .zip(before.values())
                .all(|(ours, theirs)| ours == theirs)
        );
    }
}

async fn an_input_of_many_batches_is_kept_whole(url: &str) {
    let mut register = Register::open(url).await;
    let founded = fleet::design().into_iter();
    let mut commands: Vec<Command> = founded
        .map(|fact| command(at("2029-01-01T00:00Z"), fact))
        .collect();
    let begin = at("2029-02-01T00:00Z").microseconds();
    for minute in 0..2_500 {
        let when = Instant::from_microseconds(begin + minute * 60_000_000).unwrap();
        commands.push(command(when, read("4101", minute / 10)));
    }
    let outcome = import(&register.store, &commands, at(NOW), &mut Watch::keeping()).await;
    assert!(matches!(outcome, Imported::Kept(_)));
    assert_eq!(
        register.tables.number("select count(*) from reading").await,
        2_500
    );
    register.proves().await;
}

each_database!(
    an_import_gives_what_recording_one_by_one_gives,
    one_refusal_leaves_everything_as_it_was_and_all_are_reported,
    the_end_of_a_fitment_that_is_in_the_register_is_brought_in,
    a_dry_run_changes_nothing,
    the_same_input_again_changes_nothing,
    an_input_that_goes_on_is_taken_from_where_it_was,
    a_command_that_stands_twice_in_one_input_is_refused,
    an_import_that_is_stopped_changes_nothing,
    an_input_of_many_batches_is_kept_whole,
);
