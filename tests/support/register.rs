//! A register for one test, the people who write in it, and its clock, which the test sets.

use domain::configuration::component::ComponentRef;
use domain::ledger::command::Command;
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use domain::ledger::record::founder;
use domain::people::{Actor, Role};
use domain::refusal::Refusal;
use domain::time::{Instant, Zone};
use domain::units::{Amount, Meter};
use store::read::components::ComponentLife;
use store::read::due::DueItem;
use store::{Recorded, Store, StoreError};
use uuid::Uuid;

use crate::facts::at;
use crate::sqlite::SqliteFile;
use crate::tables::Tables;

/// Somebody with one role.
pub fn person(role: Role) -> Actor {
    let name = format!("A. {role}").parse().expect("a person");
    Actor::account(name, vec![role])
}

/// Another brake engineer, who holds all other roles as well.
pub fn second_engineer() -> Actor {
    Actor::account("B. Second".parse().expect("a person"), Role::ALL.to_vec())
}

/// Whoever may record a fact alone: what needs two people is brought in as agreed before.
fn who_may(fact: &Fact) -> Actor {
    match fact {
        Fact::CarTypeDefined(_)
        | Fact::TaskDefined(_)
        | Fact::ProcedureDefined(_)
        | Fact::CarRegistered(_) => founder("machine".parse().expect("a person")),
        _ => person(Role::BrakeEngineer),
    }
}

/// A command with an identity of its own.
pub fn command(effective_at: Instant, fact: Fact) -> Command {
    Command {
        id: Uuid::new_v4(),
        effective_at,
        reason: String::new(),
        corrects: None,
        fact,
    }
}

/// A command that corrects an entry.
pub fn correction(corrects: Seq, effective_at: Instant, fact: Fact) -> Command {
    Command {
        reason: "typed wrongly".to_owned(),
        corrects: Some(corrects),
        ..command(effective_at, fact)
    }
}

/// A register that is written in one command at a time, each a minute after the one before.
#[derive(Debug)]
pub struct Register {
    /// The register.
    pub store: Store,
    /// Its tables.
    pub tables: Tables,
    /// The time at which the next command is recorded.
    pub now: Instant,
}

impl Register {
    /// Opens the register at an address, in the morning of 2030-01-01.
    pub async fn open(url: &str) -> Self {
        let store = Store::open(url, Zone::UTC).await.expect("a register");
        Self {
            store,
            tables: Tables::open(url).await,
            now: at("2030-01-01T06:00Z"),
        }
    }

    /// Sets the clock.
    pub fn now_is(&mut self, now: &str) {
        self.now = at(now);
    }

    /// Sends a command as somebody.
    pub async fn send(&mut self, actor: Actor, command: Command) -> Result<Recorded, StoreError> {
        let recorded = self.store.record(actor, command, self.now).await;
        let minute = 60_000_000;
        self.now =
            Instant::from_microseconds(self.now.microseconds() + minute).expect("a time in range");
        recorded
    }

    /// Records a fact that became true at a time, as somebody who may.
    pub async fn record(&mut self, effective_at: &str, fact: Fact) -> Seq {
        self.kept(command(at(effective_at), fact)).await.seq
    }

    /// Brings in a fact that was agreed before, as whoever runs the machine.
    pub async fn bring(&mut self, effective_at: &str, fact: Fact) -> Seq {
        let machine = founder("machine".parse().expect("a person"));
        let command = command(at(effective_at), fact);
        match self.send(machine, command).await {
            Ok(Recorded::Now(entry)) => entry.seq,
            other => panic!("not recorded: {other:?}"),
        }
    }

    /// Puts another fact in the place of an entry's.
    pub async fn correct(&mut self, target: Seq, effective_at: &str, fact: Fact) -> Seq {
        let command = correction(target, at(effective_at), fact);
        self.kept(command).await.seq
    }

    /// Takes an entry back.
    pub async fn withdraw(&mut self, target: Seq) -> Seq {
        let command = correction(target, self.now, Fact::Withdrawn);
        self.kept(command).await.seq
    }

    /// Has a second brake engineer approve a proposal.
    pub async fn approve(&mut self, proposal: Seq, effective_at: &str) -> Seq {
        let command = command(at(effective_at), Fact::Approved { proposal });
        match self.send(second_engineer(), command).await {
            Ok(Recorded::Now(entry)) => entry.seq,
            other => panic!("not recorded: {other:?}"),
        }
    }

    /// Sends a command that must be recorded.
    pub async fn kept(&mut self, command: Command) -> Entry {
        match self.send(who_may(&command.fact), command).await {
            Ok(Recorded::Now(entry)) => *entry,
            other => panic!("not recorded: {other:?}"),
        }
    }

    /// Says why a fact is not recorded though somebody sends it who may.
    pub async fn refuses(&mut self, effective_at: &str, fact: Fact) -> Refusal {
        let command = command(at(effective_at), fact);
        self.refuses_of(who_may(&command.fact), command).await
    }

    /// Says why another fact does not take the place of an entry's.
    pub async fn refuses_correction(
        &mut self,
        target: Seq,
        effective_at: &str,
        fact: Fact,
    ) -> Refusal {
        let command = correction(target, at(effective_at), fact);
        self.refuses_of(person(Role::BrakeEngineer), command).await
    }

    /// Says why an entry is not taken back.
    pub async fn refuses_withdrawal(&mut self, target: Seq) -> Refusal {
        let command = correction(target, self.now, Fact::Withdrawn);
        self.refuses_of(person(Role::BrakeEngineer), command).await
    }

    /// Says why a command of somebody is not recorded; nothing has changed then.
    pub async fn refuses_of(&mut self, actor: Actor, command: Command) -> Refusal {
        let before = self.tables.contents().await;
        let refusal = match self.send(actor, command).await {
            Err(StoreError::Refused(refusal)) => refusal,
            other => panic!("not refused: {other:?}"),
        };
        assert_eq!(
            self.tables.contents().await,
            before,
            "a refusal changed something"
        );
        refusal
    }

    /// What the register tells of a component.
    pub async fn life(&self, component: &ComponentRef) -> ComponentLife {
        let mut view = self.store.view().await.expect("the register answers");
        view.component(component)
            .await
            .expect("the register answers")
            .expect("a known component")
    }

    /// When a task of a component is due.
    pub async fn due(&self, component: &ComponentRef, task: &str) -> DueItem {
        let id = self.life(component).await.record.id;
        let mut view = self.store.view().await.expect("the register answers");
        let today = Zone::UTC.day_of(self.now);
        let due = view
            .due_of_component(id, today)
            .await
            .expect("the register answers");
        let of_task = due.into_iter().find(|item| item.task.as_str() == task);
        of_task.expect("a task of its part")
    }

    /// What a car had run by its odometer when it was last read.
    pub async fn odometer(&self, car: &str) -> Amount {
        let mut view = self.store.view().await.expect("the register answers");
        let number = car.parse().expect("a car number");
        let standings = view.meters(&number).await.expect("the register answers");
        let odometer = standings
            .iter()
            .find(|(meter, _)| *meter == Meter::Odometer);
        odometer.expect("a meter that was read").1.last.usage
    }

    /// Proves the chain, and that every projection is what the ledger gives when it is folded
    /// again in an empty register.
    pub async fn proves(&self) {
        self.store.verify(|_| ()).await.expect("an unbroken chain");
        let file = SqliteFile::fresh();
        let scratch = Store::open(file.url(), Zone::UTC)
            .await
            .expect("an empty register");
        let comparison = self.store.compare_with_rebuild(&scratch, |_| ()).await;
        let comparison = comparison.expect("a ledger that can be folded");
        assert_eq!(comparison.differences, [""; 0]);
        assert_eq!(comparison.different, 0);
    }
}
