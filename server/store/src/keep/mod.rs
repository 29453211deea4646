//! Writes what a fold has changed into the projections: a fixed number of statements for each
//! kind of thing that was changed, however many of them there are.

mod assemblies;
mod cars;
mod components;
mod decisions;
mod doubts;
mod fleet_checks;
mod holds;
mod isolations;
mod meters;
mod modifications;
mod plates;
mod proposals;
mod settings;
mod states;
mod subjects;
mod tests;
mod trains;
mod visits;
mod withdrawn;
mod work;

pub(crate) use decisions::put_told_late;
pub(crate) use doubts::put_doubts;

use crate::connect::Tx;
use crate::error::StoreError;
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use domain::time::Instant;

/// Rows of one multi-row statement: with nineteen columns still below the bind limits.
const ROWS: usize = 1_000;

/// The entries that a write begins with: what they brought is not in the database yet.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Write {
    /// The first new entry.
    pub(crate) first: Seq,
    /// When they are recorded.
    pub(crate) recorded_at: Instant,
}

/// Writes all that was changed, except due dates.
pub(crate) async fn changes(
    tx: &mut Tx,
    dossier: &Dossier,
    write: Write,
) -> Result<(), StoreError> {
    let changes = &dossier.changes;
    subjects::put_subjects(tx, &changes.subjects).await?;
    cars::put_units(tx, dossier, &changes.units).await?;
    cars::put_cars(tx, dossier, &changes.cars).await?;
    trains::put_trains(tx, dossier, &changes.trains, &changes.units).await?;
    components::put_components(tx, dossier, &changes.components).await?;
    plates::put_plates(tx, dossier, &changes.plates).await?;
    states::put_states(tx, dossier, &changes.states, write).await?;
    components::put_fitments(tx, dossier, &changes.fitments, write).await?;
    assemblies::put_inner_fitments(tx, dossier, &changes.inner_fitments, write).await?;
    meters::put_readings(tx, dossier, &changes.readings).await?;
    meters::put_replacements(tx, dossier, &changes.replacements).await?;
    work::put_done(tx, dossier, &changes.done, write).await?;
    modifications::put_embodied(tx, dossier, &changes.embodied, write).await?;
    withdrawn::put_withdrawn(tx, dossier, &changes.withdrawn, write).await?;
    settings::put_settings(tx, dossier, &changes.settings, write).await?;
    tests::put_tests(tx, dossier, &changes.tests).await?;
    proposals::put_proposals(tx, dossier, &changes.proposals).await?;
    isolations::put_isolations(tx, dossier, &changes.isolations).await?;
    fleet_checks::put_fleet_checks(tx, dossier, changes).await?;
    visits::put_visits(tx, dossier, &changes.visits).await?;
    holds::put_holds(tx, dossier, &changes.holds, write.first).await?;
    decisions::put_confirmed(tx, dossier, &changes.confirmed, write).await?;
    decisions::put_decisions(tx, dossier, &changes.decisions, write).await?;
    cars::take_out(tx, &changes.cars_gone).await
}
