//! Inputs as folders and workbooks on disk, as their owners have them.

mod assemblies;
mod change;
mod contradictions;
mod damaged;
mod facts;
mod forces;
mod measured;
mod refused;
mod rule_sets;
mod sample;
mod workbooks;

use super::{Input, InputError, Options};
use domain::ledger::command::Command;
use domain::ledger::fact::Fact;
use domain::time::Zone;
use std::path::Path;
use tempfile::TempDir;

fn options() -> Options {
    Options {
        zone: Zone::UTC,
        shift_days: 0,
    }
}

/// A folder with these files.
fn folder(files: &[(&str, &[u8])]) -> TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for (name, content) in files {
        std::fs::write(folder.path().join(name), content).expect("a file");
    }
    folder
}

/// All that an input gives: its commands with their rows as text, and all errors.
fn read(path: &Path) -> (Vec<(String, Command)>, Vec<InputError>) {
    let mut commands = Vec::new();
    let mut errors = Vec::new();
    for item in Input::open(path, options()).expect("an input") {
        match item {
            Ok(located) => commands.push((located.location.to_string(), located.value)),
            Err(found) => {
                assert!(!found.errors.is_empty(), "an error that says nothing");
                errors.extend(found.errors);
            }
        }
    }
    (commands, errors)
}

/// The errors of an input with one file, as people see them.
fn errors_of(name: &str, content: &[u8]) -> Vec<String> {
    let folder = folder(&[(name, content)]);
    let (_, errors) = read(folder.path());
    errors.iter().map(ToString::to_string).collect()
}

/// The facts of an input with one file in which nothing is wrong.
fn facts_of(name: &str, content: &str) -> Vec<Fact> {
    let folder = folder(&[(name, content.as_bytes())]);
    let (commands, errors) = read(folder.path());
    assert_eq!(errors, []);
    commands
        .into_iter()
        .map(|(_, command)| command.fact)
        .collect()
}
