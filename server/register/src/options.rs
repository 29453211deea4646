//! What can be said on the command line.

use crate::command::demo;
use clap::{Args, Parser, Subcommand, ValueEnum};
use domain::time::{Day, Zone};
use std::net::{IpAddr, SocketAddr};
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
    /// Tell whether a train may run, as it stands or with cocks supposed closed.
    Decide(Box<Decide>),
    /// Ask more of a train: what to close, its weak points, a path, a fault, what reveals a cock.
    Ask(Box<Ask>),
    /// Write the circuit of a car type as text, or check a text in its place.
    Circuit(Circuit),
    /// List what is due, as text or CSV.
    Due(Due),
    /// Write the ledger, or a stretch of it, into a file that proves itself.
    Export(Export),
    /// Prove the chain of the ledger or of an exported file, or name the first bad entry.
    Verify(Verify),
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
            zone: None,
            seed_data: PathBuf::from("seed-data"),
            proxies: Vec::new(),
            sign_on: SignOn::default(),
        })
    }
}

/// Where the register is kept.
#[derive(Debug, Args, Clone)]
pub(crate) struct Database {
    /// `sqlite://FILE` or `postgres://HOST/NAME`.
    #[arg(long, env = "REGISTER_DATABASE")]
    pub(crate) database: String,
    /// The depot's time zone, as CET; said once, when the register is begun. UTC where it is not.
    #[arg(long, env = "REGISTER_ZONE")]
    pub(crate) zone: Option<Zone>,
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
    /// The depot's time zone, as CET; said once, when the register is begun. UTC where it is not.
    #[arg(long, env = "REGISTER_ZONE")]
    pub(crate) zone: Option<Zone>,
    /// Where the demo's invented fleet is.
    #[arg(long, default_value = "seed-data")]
    pub(crate) seed_data: PathBuf,
    /// The address of a proxy that is believed when it says from where a request comes.
    #[arg(long = "proxy", env = "REGISTER_PROXY", value_delimiter = ',')]
    pub(crate) proxies: Vec<IpAddr>,
    #[command(flatten)]
    pub(crate) sign_on: SignOn,
}

/// Single sign-on: all of it or none. The secret is no argument, since arguments are seen by
/// others on the machine.
#[derive(Debug, Args, Clone, Default)]
pub(crate) struct SignOn {
    /// Single sign-on: the address of the provider, to the letter as in its metadata.
    #[arg(long = "sign-on-issuer", value_name = "URL", env = "REGISTER_SIGN_ON_ISSUER", requires_all = ["client", "address"])]
    pub(crate) issuer: Option<String>,
    /// As what the provider knows the register.
    #[arg(
        long = "sign-on-client",
        value_name = "NAME",
        env = "REGISTER_SIGN_ON_CLIENT",
        requires = "issuer"
    )]
    pub(crate) client: Option<String>,
    /// The address at which people open the register; the provider sends them back to its
    /// `/sign-on/back`.
    #[arg(
        long = "sign-on-address",
        value_name = "URL",
        env = "REGISTER_SIGN_ON_ADDRESS",
        requires = "issuer"
    )]
    pub(crate) address: Option<String>,
    /// A file with the secret by which the register proves to the provider that it is that; else
    /// the secret is read from the environment variable `REGISTER_SIGN_ON_SECRET`.
    #[arg(
        long = "sign-on-secret-file",
        value_name = "FILE",
        env = "REGISTER_SIGN_ON_SECRET_FILE",
        requires = "issuer"
    )]
    pub(crate) secret_file: Option<PathBuf>,
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
    #[arg(long, default_value_t = 66, value_parser = clap::value_parser!(u32).range(1..))]
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

/// Options of `export`.
#[derive(Debug, Args, Clone)]
pub(crate) struct Export {
    /// The file to write, which must not exist.
    pub(crate) file: PathBuf,
    #[command(flatten)]
    pub(crate) database: Database,
    /// The first entry, by its number.
    #[arg(long)]
    pub(crate) from: Option<i64>,
    /// The last entry.
    #[arg(long)]
    pub(crate) to: Option<i64>,
}

/// Options of `verify`.
#[derive(Debug, Args, Clone)]
pub(crate) struct Verify {
    /// An exported file. It is proven by itself; no database is opened.
    #[arg(required_unless_present = "database")]
    pub(crate) file: Option<PathBuf>,
    /// `sqlite://FILE` or `postgres://HOST/NAME`.
    #[arg(long, env = "REGISTER_DATABASE")]
    pub(crate) database: Option<String>,
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

/// Options of `ask`.
#[derive(Debug, Args)]
pub(crate) struct Ask {
    #[command(flatten)]
    pub(crate) question: Decide,
    #[command(subcommand)]
    pub(crate) what: Further,
}

/// What is asked.
#[derive(Debug, Subcommand)]
pub(crate) enum Further {
    /// Every smallest set of cocks that keeps air from a component.
    Closing(At),
    /// What every single failure takes away, and every pair.
    WeakPoints,
    /// The positions that air and demand pass to a position.
    Path {
        #[command(flatten)]
        at: At,
        /// `service`, `emergency` or `holding`.
        #[arg(long, default_value = "service")]
        mode: String,
    },
    /// The single faults that explain what was seen.
    Faults {
        /// `4101:=BS1-XT1:service:no_pressure`, or `4101:bogie 2:released:braking`.
        #[arg(long, required = true, value_name = "CAR:PLACE:STATE:SEEN")]
        saw: Vec<String>,
        /// `now`, or `exhausted` where the train had stood for a while.
        #[arg(long, default_value = "now")]
        supply: String,
    },
    /// Which test reveals a cock in a wrong state.
    Revealed,
}

/// A position of a car.
#[derive(Debug, Args)]
pub(crate) struct At {
    /// The car.
    pub(crate) car: String,
    /// The position on it, as =BS1-QN6 or by another of its names.
    pub(crate) position: String,
}

/// Options of `decide`. Of the question, what is left out is assumed where that is usual, and the
/// answer says so; `-` says that it is not known.
#[derive(Debug, Args, Clone)]
pub(crate) struct Decide {
    #[command(flatten)]
    pub(crate) database: Database,
    /// A train of the register.
    #[arg(long, global = true, conflicts_with = "formation")]
    pub(crate) train: Option<String>,
    /// Units and cars from the front, as TM3-001,TM3-002r,4107; `r` is short for reversed.
    #[arg(long, global = true)]
    pub(crate) formation: Option<String>,
    /// A position, by its code or another of its names, supposed to be in a state, as
    /// `4101:=BS1-QM1:closed_vented`, or `…:open`.
    #[arg(long, global = true, value_name = "CAR:CODE:STATE")]
    pub(crate) close: Vec<String>,
    /// `minimum`, `normal` or `maximum`.
    #[arg(long, global = true)]
    pub(crate) load: Option<String>,
    /// `P`, `R`, `G` or `EP`.
    #[arg(long, global = true)]
    pub(crate) brake_position: Option<String>,
    /// The speed to stop from, in km/h.
    #[arg(long, global = true)]
    pub(crate) speed: Option<String>,
    /// The steepest gradient in the direction of travel in per mille; negative where it falls.
    #[arg(long, global = true, allow_hyphen_values = true)]
    pub(crate) gradient: Option<String>,
    /// The shortest distance in which the train must stop, in metres.
    #[arg(long, global = true)]
    pub(crate) signalling_distance: Option<String>,
    /// How far it is to where the train is meant to go, in kilometres.
    #[arg(long, global = true)]
    pub(crate) distance_to_go: Option<String>,
    /// `leaving_depot`, `leaving_elsewhere` or `on_the_road`.
    #[arg(long, global = true)]
    pub(crate) whereabouts: Option<String>,
    /// `commuter`, `short_distance`, `long_distance` or `freight`.
    #[arg(long, global = true)]
    pub(crate) train_kind: Option<String>,
    /// `in_service`, `for_repair` or `for_scrap_or_sale`.
    #[arg(long, global = true)]
    pub(crate) movement: Option<String>,
    /// The route it runs on: one that a rule in force names, in any case, or `another`; anything where
    /// no rule names any.
    #[arg(long, global = true)]
    pub(crate) route: Option<String>,
    /// The most adhesion that a holding axle is taken to use, as `0.12`.
    #[arg(long, global = true)]
    pub(crate) holding_adhesion: Option<String>,
}

/// Options of `circuit`.
#[derive(Debug, Args, Clone)]
pub(crate) struct Circuit {
    /// The car type.
    pub(crate) car_type: String,
    /// The revision of its baseline.
    pub(crate) revision: String,
    /// A file with a circuit as text, to be checked for this car type.
    #[arg(long)]
    pub(crate) check: Option<PathBuf>,
    /// The units and cars to try it in, as “TM3-001, TM3-002 reversed”; without, a unit of that type.
    #[arg(long, requires = "check")]
    pub(crate) formation: Option<String>,
    #[command(flatten)]
    pub(crate) database: Database,
}

/// Options of `due`. What is left out does not narrow the list.
#[derive(Debug, Args, Clone)]
pub(crate) struct Due {
    #[command(flatten)]
    pub(crate) database: Database,
    /// Where the work is: `on_cars`, or `off_cars` for what is in stores and workshops.
    #[arg(long)]
    pub(crate) place: Option<String>,
    /// On cars of this fleet.
    #[arg(long)]
    pub(crate) fleet: Option<String>,
    /// On cars kept at this depot.
    #[arg(long)]
    pub(crate) depot: Option<String>,
    /// On cars of this unit.
    #[arg(long)]
    pub(crate) unit: Option<String>,
    /// On this car.
    #[arg(long)]
    pub(crate) car: Option<String>,
    /// On components of this part.
    #[arg(long)]
    pub(crate) part: Option<String>,
    /// In this state: `no_date`, `not_due`, `in_window`, `due`, `in_late_tolerance`, `unknown` or `overdue`.
    #[arg(long)]
    pub(crate) state: Option<String>,
    /// Due on or before this day, as 2026-12-31.
    #[arg(long)]
    pub(crate) until: Option<String>,
    /// As text for people, or as CSV for a spreadsheet.
    #[arg(long, value_enum, default_value = "text")]
    pub(crate) format: Format,
}

/// How a list is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// Lines of text.
    Text,
    /// Comma-separated values.
    Csv,
}
