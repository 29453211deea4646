//! Loads the dossier that some commands touch, in a fixed number of statements however many
//! commands there are; kinds of things that none of them touches cost nothing.
//!
//! What is wanted is joined by `cross join`, which SQLite takes as the order of its loops: left
//! to itself it scans the large table once the list of what is wanted is long.

pub(crate) mod assemblies;
pub(crate) mod cars;
pub(crate) mod components;
pub(crate) mod decisions;
pub(crate) mod fleet_checks;
pub(crate) mod holds;
pub(crate) mod isolations;
pub(crate) mod lines;
mod mentions;
pub(crate) mod meters;
pub(crate) mod modifications;
pub(crate) mod plates;
pub(crate) mod proposals;
pub(crate) mod settings;
pub(crate) mod states;
pub(crate) mod tests;
mod told;
pub(crate) mod visits;
pub(crate) mod work;

use crate::connect::Tx;
use crate::error::StoreError;
use crate::ledger;
use assemblies::Side;
use components::Reach;
use domain::configuration::component::PositionRef;
use domain::ledger::dossier::{Documents, Dossier, HoldsInForce};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::ledger::subjects::{EntrySubject, SubjectKind};
use domain::ledger::touches::Touched;
use domain::time::Zone;
use std::sync::Arc;

/// Values of one multi-row statement: with five columns still below the bind limits.
pub(crate) const KEYS: usize = 4_000;

/// What a server knows without asking.
pub(crate) struct Known {
    /// The design data.
    pub(crate) documents: Arc<Documents>,
    /// The evidence holds in force; where many entries are written in one transaction they are
    /// asked for each time, since some of the entries may set or lift them.
    pub(crate) holds: Option<Arc<HoldsInForce>>,
    /// The last entry that raised a doubt about a component; nought where none ever did.
    pub(crate) doubts_seq: i64,
}

/// Loads an entry that is to be corrected, with what may rest on it, and says what else is needed.
async fn load_corrected(
    tx: &mut Tx,
    (dossier, touched): (&mut Dossier, &mut Touched),
    seq: Seq,
) -> Result<(), StoreError> {
    let Some((entry, by)) = ledger::read_one(tx, seq).await? else {
        return Ok(());
    };
    touched.add_fact(&entry.fact, entry.effective_at);
    work::load_done_on_car(tx, dossier, seq).await?;
    match &entry.fact {
        Fact::CheckConfirmed(_) => decisions::load_confirmed(tx, dossier, seq).await?,
        Fact::TestRecorded(record) => {
            tests::load_proved(tx, (&mut *dossier, touched), (&record.id, seq)).await?;
        }
        Fact::Isolated(_) => isolations::load_end(tx, (&mut *dossier, touched), seq).await?,
        Fact::ComponentReceived(receipt) => {
            let component = EntrySubject::component(&receipt.component);
            mentions::load_mentions(tx, dossier, (&component, seq)).await?;
        }
        Fact::CarRegistered(car) => {
            let car = EntrySubject::car(&car.number);
            mentions::load_mentions(tx, dossier, (&car, seq)).await?;
        }
        Fact::Approved { proposal } => {
            let proposed = ledger::read_one(tx, *proposal).await?;
            if let Some((proposed, _)) = proposed
                && let Fact::Proposed(Proposal::Car(car)) = &proposed.fact
            {
                let car = EntrySubject::car(&car.number);
                mentions::load_mentions(tx, dossier, (&car, seq)).await?;
            }
        }
        Fact::ModificationIssued(it) => {
            let modification = EntrySubject {
                kind: SubjectKind::Modification,
                name: it.number.to_string(),
            };
            mentions::load_mentions(tx, dossier, (&modification, seq)).await?;
        }
        Fact::UnitFormed(_) | Fact::TrainFormed(_) => {
            told::load_formations(tx, (&mut *dossier, touched), &entry).await?;
        }
        _ => {}
    }
    let by = match by {
        Some(by) => ledger::read_one(tx, by).await?,
        None => None,
    };
    let by = by.map(|(by, _)| (by.seq, by.effective_at));
    dossier.corrected.insert(seq, (entry, by));
    Ok(())
}

/// Loads what is touched.
pub(crate) async fn load(
    tx: &mut Tx,
    known: Known,
    zone: Zone,
    mut touched: Touched,
) -> Result<Dossier, StoreError> {
    let mut dossier = Dossier::new(known.documents, zone);
    for seq in touched.corrected.clone() {
        Box::pin(load_corrected(tx, (&mut dossier, &mut touched), seq)).await?;
    }
    proposals::load_proposals(tx, &mut dossier, &mut touched).await?;
    cars::load_units(tx, &mut dossier, &mut touched).await?;
    cars::load_trains(tx, &mut dossier, &touched.trains).await?;
    plates::load_bearers(tx, &mut dossier, &mut touched).await?;
    let all = Reach::Assemblies;
    components::load_components(tx, &mut dossier, &touched.components, all).await?;
    assemblies::load_inner_fitments(tx, &mut dossier, Side::Either).await?;
    states::load_states(tx, &mut dossier).await?;
    if known.doubts_seq != 0 {
        states::load_doubts(tx, &mut dossier, &touched.judged).await?;
    }
    work::load_done_on_components(tx, &mut dossier).await?;
    // Whoever removes or swaps components, or works on one, does not name the cars they are on,
    // nor what is inside them.
    let components = dossier.components.keys();
    let places: Vec<PositionRef> = components
        .flat_map(|component| dossier.fitments_of(component))
        .map(|fitment| fitment.at.clone())
        .collect();
    touched.cars.extend(places.iter().map(|at| at.car.clone()));
    cars::load_cars(tx, &mut dossier, &touched.cars).await?;
    cars::load_bearing(tx, &mut dossier, &touched.vehicle_numbers).await?;
    told::load_told(tx, &mut dossier, &touched.told).await?;
    let inside = dossier.has_assemblies() || !touched.assemblies.is_empty();
    if inside || !touched.corrected.is_empty() {
        // What a correction opens again, and what assemblies bring with them, must not meet what
        // is in its place.
        touched.positions.extend(places);
    }
    let reach = if inside { all } else { Reach::Alone };
    components::load_positions(tx, &mut dossier, &touched.positions, reach).await?;
    meters::load_meters(tx, &mut dossier, &touched.meters).await?;
    modifications::load_embodied(tx, &mut dossier, &touched.embodied).await?;
    tests::load_tests(tx, &mut dossier, &touched).await?;
    isolations::load_isolations(tx, &mut dossier, &touched.isolations).await?;
    fleet_checks::load_fleet_checks(tx, &mut dossier, &touched).await?;
    visits::load_depots(tx, &mut dossier, &touched.depots).await?;
    visits::load_visits(tx, &mut dossier, &touched).await?;
    holds::load_holds(tx, &mut dossier, &touched, known.holds.as_deref()).await?;
    holds::load_setters(tx, &mut dossier, &touched).await?;
    decisions::load_decisions(tx, &mut dossier, &touched).await?;
    let decided = (&touched.decided, known.doubts_seq);
    decisions::load_standing(tx, &mut dossier, decided).await?;
    Ok(dossier)
}
