//! What came off as evidence: nothing is done to it before somebody held it.

use crate::configuration::component::ComponentRef;
use crate::configuration::held::Held;
use crate::ledger::dossier::Dossier;
use crate::ledger::evidence::awaits_hold;
use crate::refusal::Refusal;

/// Checks that a component did not come off as evidence, or was held since. While that hold lasts
/// nothing is done to it either.
pub(super) fn awaits_no_hold(dossier: &Dossier, component: &ComponentRef) -> Result<(), Refusal> {
    let Some(record) = dossier.components.get(component) else {
        return Ok(());
    };
    let held = Held::Component(component.clone());
    let holds = dossier.holds.values().filter(|hold| hold.held == held);
    let set = holds.map(|hold| (hold.id, hold.since));
    match awaits_hold(record.condition, dossier.own_fitments_of(component), set) {
        None => Ok(()),
        Some(end) => Err(Refusal::Contradicts {
            what: format!("anything done to {component}, which came off as evidence,"),
            by: end.by,
            since: end.at.into(),
            allowed: "hold it as evidence, and lift that hold when the investigation is over; or, if it was none or another component came off, correct that entry to another reason first",
        }),
    }
}
