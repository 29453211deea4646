//! Whether a component is suspected: it came off somewhere as suspected, and nobody has found it
//! serviceable since. It may have changed places with another, to see whether a fault goes with it.

use crate::configuration::component::{Condition, RemovalReason};
use crate::ledger::dossier::OwnFitment;

/// Where a component was suspected, by the end of that fitment; none where it is not, or where it is
/// not serviceable for another reason. Linear in its fitments.
pub fn suspected_at(condition: Condition, fitments: &[OwnFitment]) -> Option<&OwnFitment> {
    if condition == Condition::Serviceable {
        return None;
    }
    let ended = fitments.iter().filter(|own| own.end.is_some());
    let last = ended.max_by_key(|own| own.end.as_ref().map(|end| end.at))?;
    let end = last.end.as_ref()?;
    let put_on_since = |own: &&OwnFitment| end.at <= own.from && own.fitted_by != end.by;
    let doubted = end.reason == Some(RemovalReason::Suspected);
    (doubted && !fitments.iter().any(|own| put_on_since(&own))).then_some(last)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::entry::Seq;
    use crate::ledger::examples::own;

    #[test]
    fn what_came_off_as_suspected_is_so_until_it_is_serviceable_or_was_put_on_since() {
        let to_be_judged = Condition::RemovedToBeJudged;
        let off = [own(1, (1, 3), Some(RemovalReason::Suspected))];
        let found = suspected_at(to_be_judged, &off);
        assert_eq!(found.map(|own| own.fitted_by), Some(Seq(1)));
        assert_eq!(suspected_at(Condition::Serviceable, &off), None);
        let failed = [own(1, (1, 3), Some(RemovalReason::Failed))];
        assert_eq!(suspected_at(to_be_judged, &failed), None);
        // The entry that took it off put it on elsewhere, to see whether the fault goes with it.
        let tried = [off[0].clone(), own(2, (3, 0), None)];
        assert_eq!(suspected_at(to_be_judged, &tried), Some(&off[0]));
        let put_on_since = [off[0].clone(), own(7, (5, 0), None)];
        assert_eq!(suspected_at(to_be_judged, &put_on_since), None);
    }
}
