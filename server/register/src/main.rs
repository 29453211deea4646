//! The brake register: a server and a command line over one ledger.

mod clock;
mod command;
mod options;
mod progress;

use clap::Parser;
use options::{Arguments, Command};
use std::io::{self, IsTerminal};
use std::process::ExitCode;

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

#[tokio::main]
async fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let log = tracing_subscriber::EnvFilter::try_from_env("REGISTER_LOG")
        .unwrap_or_else(|_| tracing_subscriber::EnvFilter::new("warn"));
    tracing_subscriber::fmt()
        .with_env_filter(log)
        .with_writer(std::io::stderr)
        .with_ansi(std::io::stderr().is_terminal())
        .init();
    let done = match arguments.command.unwrap_or_default() {
        Command::Serve(options) => command::serve::run(options).await,
        Command::Import(options) => command::import::run(options).await,
        Command::Generate(options) => command::generate::run(&options),
        Command::Decide(options) => command::decide::run(*options).await,
        Command::Ask(options) => command::ask::run(*options).await,
        Command::Circuit(options) => command::circuit::run(options).await,
        Command::Due(options) => command::due::run(options).await,
        Command::Export(options) => command::export::run(options).await,
        Command::Verify(options) => command::verify::run(options).await,
        Command::Rebuild(options) => command::rebuild::run(options).await,
        Command::Account(options) => command::account::run(options).await,
    };
    match done {
        Ok(code) => code,
        // Whoever reads the output has seen enough, as `head` does.
        Err(why) if is_broken_pipe(&why) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("Not done: {why:#}.");
            ExitCode::FAILURE
        }
    }
}

fn is_broken_pipe(why: &anyhow::Error) -> bool {
    why.chain().any(|cause| {
        let io = cause.downcast_ref::<io::Error>();
        io.is_some_and(|io| io.kind() == io::ErrorKind::BrokenPipe)
    })
}
