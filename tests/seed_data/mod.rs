//! The invented fleet that comes with the register: that it is brought in, what it shows, and
//! that its description says what is in it.

mod brought_in;
mod circuit_example;
mod circuits;
mod description;
mod fleet;
mod forces;
mod proportions;

use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use domain::configuration::car_type::CarType;
use domain::ledger::command::Command;
use domain::ledger::fact::Fact;
use domain::time::Zone;
use exchange::input::{Input, Options};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../seed-data")
}

fn input() -> Input {
    let options = Options {
        zone: Zone::UTC,
        shift_days: 0,
    };
    Input::open(&folder(), options).unwrap()
}

/// Everything in it, in the order of reading.
static COMMANDS: LazyLock<Vec<Command>> =
    LazyLock::new(|| input().map(|item| item.unwrap().value).collect());

/// All that some kind of fact says.
pub(crate) fn facts<T>(of_kind: impl Fn(&'static Fact) -> Option<T>) -> Vec<T> {
    let facts = COMMANDS.iter().map(|command| &command.fact);
    facts.filter_map(of_kind).collect()
}

pub(crate) fn car_types() -> Vec<&'static CarType> {
    facts(|fact| match fact {
        Fact::CarTypeDefined(car_type) => Some(&**car_type),
        _ => None,
    })
}
