//! The demo: the invented Tarrenmoor fleet, brought in at the first start, with an account for
//! each role and a second one where two people agree.

use crate::clock;
use crate::command::import::{self, Keep};
use crate::progress;
use anyhow::{Context, Result, bail};
use domain::ledger::record::founder;
use domain::people::Role;
use domain::people::roles::Roles;
use domain::time::Day;
use exchange::input::Options;
use std::path::Path;
use store::account::{NewAccount, Secret};
use store::{Imported, Store};

/// The file in which the demo is kept.
pub(crate) const DATABASE: &str = "sqlite://data/demo.sqlite";

/// The day on which the invented history ends; at the first start it is moved to end today. A
/// generated fleet is seen at that day unless another is asked for.
pub(crate) const ENDS_ON: &str = "2026-11-20";

/// Brings the invented fleet in if the register is empty, and makes the accounts.
pub(crate) async fn prepare(store: &Store, seed_data: &Path) -> Result<()> {
    make_accounts(store).await?;
    if !store.is_empty().await? {
        return Ok(());
    }
    println!(
        "First start: bringing in the invented fleet from {} …",
        seed_data.display()
    );
    let ends_on: Day = ENDS_ON.parse()?;
    let zone = store.zone();
    let shift_days = ends_on.days_until(zone.day_of(clock::now()));
    let options = Options {
        zone: zone.clone(),
        shift_days,
    };
    let actor = founder("demo".parse()?);
    let stop = progress::stop_on_interrupt();
    let outcome = import::import(
        store,
        &actor,
        (seed_data, options),
        (Keep::IfFaultless, &stop),
    )
    .await?;
    match outcome.imported {
        Imported::Kept(done) => println!("{} entries recorded.", done.recorded),
        Imported::LeftAsItWas(_) => {
            bail!("the demo was not brought in:\n{}", outcome.report)
        }
    }
    Ok(())
}

/// Makes the accounts that are not there.
async fn make_accounts(store: &Store) -> Result<()> {
    for (name, role) in PEOPLE {
        let account = NewAccount {
            name: name.parse().context("a name")?,
            roles: Roles::one(role),
            secret: Secret::None,
        };
        let by = "demo".parse()?;
        store.make_account(&account, (&by, clock::now())).await?;
    }
    Ok(())
}

/// One invented person a role, and a second brake engineer: what one proposes another approves.
const PEOPLE: [(&str, Role); 8] = [
    ("Plover, planner", Role::Planner),
    ("Coot, controller", Role::Controller),
    ("Siskin, stores", Role::Stores),
    ("Tern, technician", Role::Technician),
    ("Bittern, brake engineer", Role::BrakeEngineer),
    ("Wagtail, brake engineer", Role::BrakeEngineer),
    ("Avocet, auditor", Role::Auditor),
    ("Dunlin, administrator", Role::Administrator),
];
