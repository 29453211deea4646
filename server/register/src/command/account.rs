//! `register account`: makes an account; the password is asked for, never given as an argument.

use crate::options;
use anyhow::{Context, Result, bail};
use domain::people::{Actor, Role};
use std::io::{BufRead, Write};
use std::process::ExitCode;
use store::Store;
use store::account::Account;

/// The shortest password.
const PASSWORD_CHARS_MIN: usize = 12;

/// Runs the command.
pub(crate) async fn run(options: options::Account) -> Result<ExitCode> {
    let roles: Result<Vec<Role>, _> = options.roles.iter().map(|role| role.parse()).collect();
    let actor = Actor {
        name: options.name.parse()?,
        roles: roles?,
    };
    let password = ask()?;
    if password.chars().count() < PASSWORD_CHARS_MIN {
        bail!("the password is too short: at least {PASSWORD_CHARS_MIN} characters");
    }
    let password_hash =
        web::password_hash(&password).context("the password could not be hashed")?;
    let store = Store::open(&options.database.database, options.database.zone).await?;
    let account = Account {
        actor,
        password_hash: Some(password_hash),
    };
    store.put_account(&account).await?;
    store.close().await;
    println!("Account {} is ready.", account.actor.name);
    Ok(ExitCode::SUCCESS)
}

fn ask() -> Result<String> {
    eprint!("Password (one line, it is shown as you type): ");
    std::io::stderr().flush()?;
    let mut line = String::new();
    std::io::stdin().lock().read_line(&mut line)?;
    Ok(line.trim_end_matches(['\r', '\n']).to_owned())
}
