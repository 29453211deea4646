//! `register account`: makes an account, or gives one that is there another password and other
//! roles; the password is asked for, never given as an argument.

use crate::clock;
use crate::options;
use anyhow::{Context, Result, bail};
use domain::identity::PersonName;
use domain::people::Role;
use domain::people::account::AccountState;
use domain::people::roles::Roles;
use std::io::{BufRead, Write};
use std::process::ExitCode;
use store::account::{AccountChange, Made, NewAccount, Secret};
use store::{Store, StoreError};
use web::password;

/// Who is noted to have made an account here.
const BY: &str = "command line";

/// Runs the command.
pub(crate) async fn run(options: options::Account) -> Result<ExitCode> {
    let roles: Result<Vec<Role>, _> = options.roles.iter().map(|role| role.parse()).collect();
    let roles = Roles::together(roles?).context("the roles are not given")?;
    let name: PersonName = options.name.parse()?;
    let password = ask()?;
    if let Err(fault) = password::accepted(&password, name.as_str()) {
        bail!("the password is not accepted: expected {fault}");
    }
    let hash = password::hash(password).await;
    let hash = hash.context("the password could not be hashed")?;
    let account = NewAccount {
        name,
        roles,
        secret: Secret::Own(hash),
    };
    let (address, zone) = (&options.database.database, options.database.zone);
    let (store, begun) = match Store::open_existing(address, zone.clone()).await {
        Err(StoreError::NotThere { address: named, .. }) => {
            (Store::open(address, zone).await?, Some(named))
        }
        opened => (opened?, None),
    };
    put(&store, &account).await?;
    if let Some(named) = begun {
        println!(
            "A new register was begun at {named}; its days begin and end in the time zone {}.",
            store.zone()
        );
    }
    store.close().await;
    println!("Account {} is ready.", account.name);
    Ok(ExitCode::SUCCESS)
}

/// Makes the account, or brings the one that is there to the same state and ends its sessions.
async fn put(store: &Store, account: &NewAccount) -> Result<()> {
    let by: PersonName = BY.parse()?;
    let by = (&by, clock::now());
    if store.make_account(account, by).await? == Made::Now {
        return Ok(());
    }
    let changes = [
        AccountChange::Roles(account.roles.clone()),
        AccountChange::State(AccountState::Active),
        AccountChange::Secret(account.secret.clone()),
    ];
    for change in &changes {
        store.change_account(&account.name, change, by).await?;
    }
    Ok(())
}

fn ask() -> Result<String> {
    eprint!("Password (one line, it is shown as you type): ");
    std::io::stderr().flush()?;
    let mut line = String::new();
    std::io::stdin().lock().read_line(&mut line)?;
    Ok(line.trim_end_matches(['\r', '\n']).to_owned())
}
