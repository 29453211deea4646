//! What a test that is told after the end of a cut-out does to its proof.

use crate::connect::Tx;
use crate::error::StoreError;
use crate::read::proved::ended_by_tests;
use domain::configuration::component::Subject;
use domain::ledger::consequences::EndUnproved;
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Entry;
use domain::ledger::fact::Fact;
use domain::people::Authority;
use domain::test_record::verdict::TestOutcome;
use std::collections::BTreeMap;

/// The ends of cut-outs that are not proved with a test that a person tells. Two statements, none where
/// they tell of no test of a car, or of one that was passed.
pub(super) async fn unproved_by(
    tx: &mut Tx,
    dossier: &Dossier,
    (entry, authority): (&Entry, Authority),
) -> Result<Vec<EndUnproved>, StoreError> {
    let Fact::TestRecorded(record) = &entry.fact else {
        return Ok(Vec::new());
    };
    let tested = dossier.tests.get(&record.id);
    let tested = tested
        .filter(|tested| authority == Authority::Own && tested.outcome != TestOutcome::Passed);
    let (Subject::Car(car), Some(tested)) = (&record.subject, tested) else {
        return Ok(Vec::new());
    };
    let since = BTreeMap::from([(car.clone(), record.at)]);
    let ended = ended_by_tests(tx, &since).await?;
    let unproved = ended.iter().filter(|end| end.is_unproved_by(tested));
    Ok(unproved.map(EndUnproved::from).collect())
}
