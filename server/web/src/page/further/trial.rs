//! Swapping a suspected component to see whether the fault goes with it: which swaps would tell, and
//! which were made and are not judged yet.

use super::words::SpotWords;
use crate::address;
use crate::sides::{OtherEnd, Sides};
use domain::configuration::component::{Condition, RemovalReason};
use domain::decision::TrainCar;
use domain::decision::trial::{FittedAt, Trial};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::time::Zone;
use store::StoreError;
use store::read::View;

/// How many swaps that were made are told: each costs a statement.
const TOLD_MAX: usize = 3;

/// A name and its page.
type Linked = (String, String);

/// A swap that would tell whether a component is at fault.
pub(super) struct TrialRow {
    pub(super) at: SpotWords,
    pub(super) component: Linked,
    pub(super) other: Linked,
    pub(super) other_at: Linked,
}

impl TrialRow {
    pub(super) fn of(cars: &[TrainCar], trial: &Trial) -> Self {
        let linked = |component| (format!("{component}"), address::component(component));
        Self {
            at: SpotWords::of(cars, &trial.at),
            component: linked(&trial.component),
            other: linked(&trial.other),
            other_at: (
                trial.other_at.to_string(),
                address::position(&trial.other_at),
            ),
        }
    }
}

/// A suspected component that changed places with another and is not judged yet.
pub(super) struct OnTrial {
    pub(super) component: Linked,
    /// Where it is now.
    pub(super) at: Linked,
    /// Where it was suspected, and what took its place there.
    pub(super) from: OtherEnd,
    pub(super) entry: Linked,
    pub(super) since: String,
}

/// The suspected components of a train that changed places with others. Two statements for each,
/// none where there is none.
pub(super) async fn on_trial(
    view: &mut View,
    fitted: &[FittedAt],
    zone: &Zone,
) -> Result<Vec<OnTrial>, StoreError> {
    let doubted = |one: &&FittedAt| one.condition == Condition::RemovedToBeJudged;
    let mut all = Vec::new();
    for one in fitted.iter().filter(doubted).take(TOLD_MAX) {
        let Some(since) = tried_since(view, one).await? else {
            continue;
        };
        let sides = Sides(view.sides(&[one.by]).await?);
        let Some(from) = sides.came(&one.component, one.by) else {
            continue;
        };
        all.push(OnTrial {
            component: (
                one.component.to_string(),
                address::component(&one.component),
            ),
            at: (one.at.to_string(), address::position(&one.at)),
            from,
            entry: (Seq::to_string(&one.by), address::entry(one.by)),
            since: zone.show(since),
        });
    }
    Ok(all)
}

/// Since when a component is where it is because it was suspected elsewhere, if that is so.
async fn tried_since(
    view: &mut View,
    one: &FittedAt,
) -> Result<Option<domain::time::Instant>, StoreError> {
    let kept = view.entry(one.by).await?;
    Ok(kept.and_then(|kept| match &kept.entry.fact {
        Fact::Swapped {
            first,
            reason: RemovalReason::Suspected,
            ..
        } if *first == one.component => Some(kept.entry.effective_at),
        _ => None,
    }))
}
