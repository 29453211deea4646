//! What can be said on the command line.

use crate::command::demo;
use clap::{Args, Parser, Subcommand};
use domain::time::{Day, Zone};
use std::net::SocketAddr;
use std::path::PathBuf;

/// A configuration-managed register of brake components.
#[derive(Debug, Parser)]
#[command(version, about)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Option<Command>,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Serve the register; without a database, the demo with its invented fleet.
    Serve(Serve),
    /// Bring in a folder of CSV files or an XLSX workbook: all of it or nothing.
    Import(Import),
    /// Generate an invented fleet from a number, as a folder that can be brought in.
    Generate(Generate),
    /// Prove the chain of the ledger, or name the first bad entry.
    Verify(Database),
    /// Fold the ledger again and compare, or replace, everything that follows from it.
    Rebuild(Rebuild),
    /// Make an account, or give it another password and other roles.
    Account(Account),
}

impl Default for Command {
    fn default() -> Self {
        Self::Serve(Serve {
            listen: SocketAddr::from(([127, 0, 0, 1], 8080)),
            database: None,
            zone: Zone::UTC,
            seed_data: PathBuf::from("seed-data"),
        })
    }
}

/// Where the register is kept.
#[derive(Debug, Args, Clone)]
pub(crate) struct Database {
    /// `sqlite://FILE` or `postgres://HOST/NAME`.
    #[arg(long, env = "REGISTER_DATABASE")]
    pub(crate) database: String,
    /// The depot's time zone, as Europe/Lisbon or UTC.
    #[arg(long, env = "REGISTER_ZONE", default_value = "UTC")]
    pub(crate) zone: Zone,
}

/// Options of `serve`.
#[derive(Debug, Args, Clone)]
pub(crate) struct Serve {
    /// The address to listen on.
    #[arg(long, env = "REGISTER_LISTEN", default_value = "127.0.0.1:8080")]
    pub(crate) listen: SocketAddr,
    /// `sqlite://FILE` or `postgres://HOST/NAME`; the demo where it is left out.
    #[arg(long, env = "REGISTER_DATABASE")]
    pub(crate) database: Option<String>,
    /// The depot's time zone.
    #[arg(long, env = "REGISTER_ZONE", default_value = "UTC")]
    pub(crate) zone: Zone,
    /// Where the demo's invented fleet is.
    #[arg(long, default_value = "seed-data")]
    pub(crate) seed_data: PathBuf,
}

/// Options of `import`.
#[derive(Debug, Args, Clone)]
pub(crate) struct Import {
    /// The folder or workbook.
    pub(crate) input: PathBuf,
    #[command(flatten)]
    pub(crate) database: Database,
    /// Check everything and change nothing.
    #[arg(long)]
    pub(crate) dry_run: bool,
    /// In whose name the entries are made.
    #[arg(long, default_value = "import")]
    pub(crate) person: String,
}

/// Options of `generate`.
#[derive(Debug, Args, Clone)]
pub(crate) struct Generate {
    /// The folder to write, which must not exist.
    pub(crate) to: PathBuf,
    /// The folder with the design: parts, car types, tasks, procedures, rule sets, formations.
    #[arg(long, default_value = "seed-data")]
    pub(crate) design: PathBuf,
    /// Another number gives another fleet; the same number always the same.
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
    /// How many cars.
    #[arg(long, default_value_t = 66)]
    pub(crate) cars: u32,
    /// The day it is seen at; nothing in it is later.
    #[arg(long, default_value = demo::ENDS_ON)]
    pub(crate) as_at: Day,
    /// Years of history, with readings every month and every week in the last year.
    #[arg(long, default_value_t = 3)]
    pub(crate) years: u32,
    /// At least so many positions a car, for measuring.
    #[arg(long)]
    pub(crate) positions_per_car: Option<u32>,
}

/// Options of `rebuild`.
#[derive(Debug, Args, Clone)]
pub(crate) struct Rebuild {
    #[command(flatten)]
    pub(crate) database: Database,
    /// Replace what is kept instead of comparing with it.
    #[arg(long)]
    pub(crate) replace: bool,
}

/// Options of `account`.
#[derive(Debug, Args, Clone)]
pub(crate) struct Account {
    /// The name, as it will stand in every entry.
    pub(crate) name: String,
    /// The roles: planner, controller, stores, technician, `brake_engineer`, auditor, administrator.
    #[arg(long = "role", required = true)]
    pub(crate) roles: Vec<String>,
    #[command(flatten)]
    pub(crate) database: Database,
}
