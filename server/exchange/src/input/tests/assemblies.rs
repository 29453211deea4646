//! What rows say of assemblies.

use super::facts::{only, sample_facts};
use domain::configuration::part::Vacancy;
use domain::ledger::fact::Fact;

#[test]
fn an_assembly_has_positions_of_its_own_and_a_fitment_may_name_one() {
    let assembly = only(sample_facts().into_iter().filter_map(|fact| match fact {
        Fact::PartDefined(part) => Some(part).filter(|part| !part.positions.is_empty()),
        _ => None,
    }));
    let positions: Vec<_> = assembly
        .positions
        .iter()
        .map(|position| {
            (
                position.code.as_str(),
                position.approved.len(),
                position.vacancy,
            )
        })
        .collect();
    let expected = [("-Q1", 2, Vacancy::Forbidden), ("-G1", 1, Vacancy::Finding)];
    assert_eq!(positions, expected);
    let inside = only(sample_facts().into_iter().filter_map(|fact| match fact {
        Fact::Fitted(fitting) => fitting.at.assembly().is_some().then_some(fitting.at),
        _ => None,
    }));
    assert_eq!(inside.to_string(), "-Q1 of P2 serial 7");
}
