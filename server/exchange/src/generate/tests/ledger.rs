//! A generated fleet before the rules of the register.

use super::{as_at, commands, in_folder, options};
use crate::generate::{History, Options};
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use domain::ledger::record::{Next, founder, record};
use domain::time::Zone;

fn recorded(options: Options) -> Dossier {
    let (folder, _) = in_folder(options);
    let mut dossier = Dossier::default();
    let actor = founder("A. Tester".parse().expect("a name"));
    let recorded_at = Zone::UTC.start_of(as_at());
    for (seq, command) in (1..).map(Seq).zip(commands(&folder)) {
        let said = format!("{command:?}");
        let next = Next { seq, recorded_at };
        if let Err(refusal) = record(&mut dossier, &actor, command, next) {
            panic!("{refusal}: {said}");
        }
    }
    dossier
}

#[test]
fn the_register_takes_a_generated_fleet_as_it_is() {
    let dossier = recorded(options(150));
    assert_eq!(dossier.cars.len(), 150);
    assert!(!dossier.tests.is_empty());
    let isolations: Vec<_> = dossier.isolations.values().flatten().collect();
    assert!(isolations.iter().any(|isolation| isolation.ended.is_none()));
    assert!(isolations.iter().any(|isolation| isolation.ended.is_some()));
}

#[test]
fn the_register_takes_a_wide_fleet_with_a_short_history() {
    let dossier = recorded(Options {
        history: History::Months(12),
        positions_per_car: Some(30),
        ..options(40)
    });
    assert_eq!(dossier.cars.len(), 40);
}
