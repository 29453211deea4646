//! What the last answer to a check of the fleet must know: which cars carry by now what is looked for,
//! or may.

use crate::connect::Tx;
use crate::error::StoreError;
use crate::ledger::Head;
use crate::read::AsAt;
use crate::record::Store;
use domain::identity::CarNumber;
use domain::ledger::command::Command;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::time::Instant;
use std::collections::BTreeMap;

/// By check, the cars that carry what is looked for or may, and since when.
pub(crate) type StillCarrying = BTreeMap<Seq, BTreeMap<CarNumber, Instant>>;

impl Store {
    /// Where a command may be the last answer to a check, the cars that carry what that looks for now, or
    /// of which that cannot be told.
    /// Gives the transaction back. One statement for an answer, and those of the question for a last
    /// one.
    pub(crate) async fn still_carrying(
        &self,
        tx: Tx,
        (head, command): (&Head, &Command),
        now: Instant,
    ) -> Result<(Tx, StillCarrying), StoreError> {
        let mut carrying = StillCarrying::new();
        let Fact::FleetCheckAnswered(answer) = &command.fact else {
            return Ok((tx, carrying));
        };
        let mut view = self.view_of(tx, head).await?;
        let check = view.fleet_check(answer.check).await?;
        let last = check.filter(|check| check.record.unanswered == 1);
        if let Some(sought) = last.and_then(|check| check.record.check.sought) {
            let now = head.not_before(now);
            let as_at = AsAt {
                effective: now,
                known: now,
            };
            let cars = view.on_cars_since(&sought, as_at).await?.into_iter();
            let since = cars.map(|(car, on_car)| (car, on_car.since)).collect();
            carrying.insert(answer.check, since);
        }
        Ok((view.into_tx(), carrying))
    }
}
