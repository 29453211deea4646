//! Swapping a suspected component to see whether the fault goes with it: which swaps would tell, and
//! which were made and are not judged yet.

use super::words::SpotWords;
use crate::address;
use crate::sides::{OtherEnd, Sides};
use domain::configuration::component::{Condition, RemovalReason};
use domain::decision::TrainCar;
use domain::decision::trial::{FittedAt, Trial};
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use domain::time::Zone;
use store::StoreError;
use store::read::View;

/// How many swaps that were made are told.
const TOLD_MAX: usize = 10;

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

/// The suspected components of a train that changed places with others. Two statements, none where
/// nothing is to be judged.
pub(super) async fn on_trial(
    view: &mut View,
    fitted: &[FittedAt],
    zone: &Zone,
) -> Result<Vec<OnTrial>, StoreError> {
    let doubted = |one: &&FittedAt| one.condition == Condition::RemovedToBeJudged;
    let doubted: Vec<&FittedAt> = fitted.iter().filter(doubted).collect();
    let entries: Vec<Seq> = doubted.iter().map(|one| one.by).take(TOLD_MAX).collect();
    let swaps = view.entries_numbered(&entries).await?;
    let sides = Sides(view.sides(&entries).await?);
    let told = |one: &&FittedAt| {
        let swap = swaps.iter().find(|swap| tries(swap, one))?;
        Some(OnTrial {
            component: (
                one.component.to_string(),
                address::component(&one.component),
            ),
            at: (one.at.to_string(), address::position(&one.at)),
            from: sides.came(&one.component, one.by)?,
            entry: (one.by.to_string(), address::entry(one.by)),
            since: zone.show(swap.effective_at),
        })
    };
    Ok(doubted.iter().filter_map(told).collect())
}

/// Whether an entry put a component where it is because it was suspected elsewhere.
fn tries(swap: &Entry, one: &FittedAt) -> bool {
    let Fact::Swapped { first, reason, .. } = &swap.fact else {
        return false;
    };
    swap.seq == one.by && *first == one.component && *reason == RemovalReason::Suspected
}
