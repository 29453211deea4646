//! Random histories of the small fleet, on both databases at once, beside a model that is too
//! simple to be wrong. The invariants are those of the register: a component is in one place, a
//! position holds one component, only serviceable components are fitted, inner ones are wherever
//! their assemblies are, use never runs backwards, a refusal changes nothing, and everything
//! follows from the entries.

mod agreement;
mod in_place;
mod inside;
mod model;
mod step;
mod told;
mod world;

use agreement::{Ids, assert_agreement};
use model::{Hour, Model, Stands};
use step::Step;
use told::Due;
use world::{Asked, asked, command_for, founding, moment};

use domain::ledger::command::Command;
use domain::ledger::record::founder;
use domain::refusal::Refusal;
use domain::time::Instant;
use proptest::test_runner::{Config, TestRunner};
use std::collections::BTreeMap;
use store::{Imported, Recorded, Store, StoreError};
use tests::keep_all::KeepAll;
use tests::postgres::PostgresDatabase;
use tests::register::Register;
use tests::sqlite::SqliteFile;
use tests::tables::Contents;

const CASES: u32 = 24;
const STEPS_MAX: usize = 60;

async fn import(store: &Store, commands: &[Command], now: Instant) {
    let commands = commands.iter().cloned().map(|command| ((), command));
    let engineer = founder("A. Founder".parse().unwrap());
    let outcome = store
        .import(&engineer, now, commands, &mut KeepAll)
        .await
        .unwrap();
    assert!(matches!(outcome, Imported::Kept(_)));
}

/// Records a command; gives the number of its entry, or why there is none.
async fn record(register: &mut Register, command: &Command, now: Instant) -> Result<i64, Refusal> {
    let head = "select seq from ledger_head";
    let before = register.tables.number(head).await;
    // The model knows nothing of second people.
    let actor = founder("A. Founder".parse().unwrap());
    match register.store.record(actor, command.clone(), now).await {
        Ok(Recorded::Now(entry)) => Ok(entry.seq.0),
        Err(StoreError::Refused(refusal)) => {
            assert_eq!(register.tables.number(head).await, before);
            Err(refusal)
        }
        other => panic!("{other:?} after {command:?}"),
    }
}

/// The two registers with their model, and the commands that were recorded.
struct Sides {
    registers: [Register; 2],
    ids: Ids,
    model: Model,
    recorded: Vec<Command>,
    /// What the lists showed at the end of each moment.
    shown: BTreeMap<Hour, Vec<Due>>,
}

impl Sides {
    async fn found(urls: [&str; 2]) -> Self {
        let (founding, stands) = founding();
        let mut registers = [Register::open(urls[0]).await, Register::open(urls[1]).await];
        for register in &registers {
            import(&register.store, &founding, moment(0)).await;
        }
        let ids = Ids::read(&mut registers[0].tables).await;
        Self {
            registers,
            ids,
            model: Model::new(world::approved, stands),
            recorded: founding,
            shown: BTreeMap::new(),
        }
    }

    /// Takes a step on both sides, which must agree with each other and with the model.
    async fn take(&mut self, step: &Step) {
        self.model.now += step.wait_hours;
        let Some(asked) = asked(&self.model, step) else {
            return;
        };
        let command = command_for(&asked);
        let now = moment(self.model.now);
        let [one, other] = &mut self.registers;
        let outcome = record(one, &command, now).await;
        assert_eq!(
            record(other, &command, now).await,
            outcome,
            "the databases differ"
        );
        let expected = self.expects(&asked);
        let Ok(entry) = outcome else {
            // A correction may be refused for what rests on the entry, which the model ignores.
            let known = expected == Some(true) && asked.corrects.is_none();
            assert!(!known, "refused: {asked:?}: {outcome:?}");
            return;
        };
        assert_ne!(expected, Some(false), "recorded: {asked:?}");
        let at = asked.at;
        let said = asked.said.map(|said| Stands { entry, at, said });
        self.model.put(asked.corrects, said);
        self.recorded.push(command);
        for register in &mut self.registers {
            assert_agreement(&mut register.tables, &self.ids, &self.model).await;
        }
        let shown = told::shown(&self.registers[0], now).await;
        self.shown.insert(self.model.now, shown);
    }

    /// Asserts that whatever was due at each moment is told of it still, as it was known then.
    async fn assert_told(&self) {
        for (hour, shown) in &self.shown {
            for register in &self.registers {
                assert_eq!(told::told(register, moment(*hour)).await, *shown, "{hour}");
            }
        }
    }

    /// Whether the model allows what is asked, given what stands without what it corrects.
    fn expects(&mut self, asked: &Asked) -> Option<bool> {
        let said = asked.said.as_ref()?;
        if let Some(corrects) = asked.corrects
            && self.model.goes_on(corrects, said)
        {
            return self.model.allows_in_place(corrects, asked.at, said);
        }
        let all = self.model.stands.clone();
        self.model
            .stands
            .retain(|stands| Some(stands.entry) != asked.corrects);
        let expected = self.model.allows(asked.at, said);
        self.model.stands = all;
        expected
    }

    /// Asserts that both sides are the same to the letter, that folding the ledger again gives
    /// the same, and that importing the same commands gives what is known now.
    async fn assert_all_follows(&mut self) {
        let [one, other] = &mut self.registers;
        let contents = one.tables.contents().await;
        assert_eq!(other.tables.contents().await, contents);
        for register in [one, other] {
            register.proves().await;
            register.store.rebuild(|_| ()).await.unwrap();
            assert_eq!(register.tables.contents().await, contents);
        }
        let file = SqliteFile::fresh();
        let mut imported = Register::open(file.url()).await;
        import(&imported.store, &self.recorded, moment(self.model.now)).await;
        let known_now = known_now(imported.tables.contents().await);
        assert_eq!(known_now, self::known_now(contents));
    }
}

/// What follows from the entries without the times at which they were recorded.
fn known_now(mut contents: Contents) -> Contents {
    contents.retain(|table, _| !table.starts_with("ledger"));
    contents.remove("withdrawn");
    for table in ["fitment", "inner_fitment", "component_state"] {
        let fitments = contents.get_mut(table).unwrap();
        fitments.retain(|row| row["known_until"].is_none());
        for row in fitments.iter_mut() {
            row.remove("known_from");
            row.remove("known_until");
        }
        fitments.sort();
    }
    contents
}

async fn live(history: &[Step]) {
    let (file, database) = (SqliteFile::fresh(), PostgresDatabase::fresh().await);
    let mut sides = Sides::found([file.url(), database.url()]).await;
    for step in history {
        sides.take(step).await;
    }
    sides.assert_told().await;
    sides.assert_all_follows().await;
    for register in &sides.registers {
        register.store.close().await;
    }
}

#[test]
fn any_history_keeps_the_invariants_on_both_databases_alike() {
    let runtime = tokio::runtime::Runtime::new().unwrap();
    let config = Config {
        cases: CASES,
        max_shrink_iters: 400,
        failure_persistence: None,
        ..Config::default()
    };
    let outcome = TestRunner::new(config).run(&step::history(STEPS_MAX), |history| {
        runtime.block_on(live(&history));
        Ok(())
    });
    if let Err(failure) = outcome {
        panic!("{failure}");
    }
}
