//! A generated fleet before the rules of the register.

use super::design::design;
use super::{as_at, built_in_folder, commands, options, seed_design};
use crate::generate::{Design, History, Options};
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use domain::ledger::record::{Next, founder, record};
use domain::time::Zone;

fn recorded(design: &Design, options: Options) -> Dossier {
    let (folder, _) = built_in_folder(design, options);
    let mut dossier = Dossier::default();
    let actor = founder("A. Tester".parse().expect("a name"));
    let recorded_at = Zone::UTC.start_of(as_at());
    for (seq, command) in (1..).map(Seq).zip(commands(&folder)) {
        let kind = command.fact.kind().name();
        let next = Next { seq, recorded_at };
        if let Err(refusal) = record(&mut dossier, &actor, command, next) {
            panic!("entry {seq:?}, {kind}: {refusal}");
        }
    }
    dossier
}

#[test]
fn the_register_takes_a_generated_fleet_as_it_is() {
    let dossier = recorded(&design(), options(150));
    assert_eq!(dossier.cars.len(), 150);
    assert!(!dossier.tests.is_empty());
    let isolations: Vec<_> = dossier.isolations.values().flatten().collect();
    assert!(isolations.iter().any(|isolation| isolation.ended.is_none()));
    assert!(isolations.iter().any(|isolation| isolation.ended.is_some()));
}

#[test]
fn the_register_takes_a_wide_fleet_with_a_short_history() {
    let dossier = recorded(
        &design(),
        Options {
            history: History::Months(12),
            positions_per_car: Some(30),
            ..options(40)
        },
    );
    assert_eq!(dossier.cars.len(), 40);
}

#[test]
fn the_register_takes_a_fleet_of_the_designs_that_come_with_it() {
    let dossier = recorded(&seed_design(), options(40));
    assert_eq!(dossier.cars.len(), 40);
}
