//! What rows say was measured and set.

use super::facts::{only, sample_facts};
use super::read;
use super::sample::sample_folder;
use domain::configuration::car_type::LoadState;
use domain::configuration::setting::SettingHow;
use domain::ledger::fact::Fact;

#[test]
fn a_procedure_and_a_test_record_are_gathered_from_the_rows_of_their_values() {
    let facts = sample_facts();
    let procedure = only(facts.iter().filter_map(|fact| match fact {
        Fact::ProcedureDefined(procedure) => Some(procedure),
        _ => None,
    }));
    let record = only(facts.iter().filter_map(|fact| match fact {
        Fact::TestRecorded(record) => Some(record),
        _ => None,
    }));
    assert_eq!(procedure.measurands.len(), 3);
    assert_eq!(procedure.measurands[1].bounds.to_string(), "3.6 to 4");
    let values: Vec<_> = record
        .values
        .iter()
        .map(|value| (value.load, value.value.to_string()))
        .collect();
    let minimum = Some(LoadState::Minimum);
    assert_eq!(
        values,
        [(minimum, "2.625".to_owned()), (None, "9".to_owned())]
    );
    assert_eq!(record.subject.to_string(), "car 4101");
    assert_eq!(record.at.to_string(), "2024-06-02T16:00:00Z");
}

#[test]
fn a_setting_is_what_a_row_says_it_was_made_and_why() {
    let folder = sample_folder();
    let (commands, _) = read(folder.path());
    let made = only(
        commands
            .iter()
            .filter_map(|(_, command)| match &command.fact {
                Fact::SettingMade(made) if made.how == SettingHow::Made => Some((made, command)),
                _ => None,
            }),
    );
    let (made, command) = made;
    assert_eq!(made.at.to_string(), "=BS-Q1 of car 4101");
    assert_eq!(made.value.to_string(), "inverted");
    assert_eq!(command.reason, "pipe in the way");
    assert_eq!(command.effective_at.to_string(), "2024-05-02T00:00:00Z");
}
