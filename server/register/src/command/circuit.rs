//! `register circuit`: writes the circuit of a car type as text, or checks a text against it, so
//! that circuits can be kept beside drawings.

use crate::clock;
use crate::options;
use anyhow::{Context, Result};
use domain::circuit::compiled::CompiledCircuit;
use domain::circuit::text::CircuitText;
use domain::configuration::car_type::CarType;
use domain::decision::formation::FormationText;
use domain::identity::{CarTypeName, Revision};
use domain::isolation::takes::{LookedAt, Trial};
use domain::time::Day;
use std::fs;
use std::io::{self, Write};
use std::process::ExitCode;
use std::sync::Arc;
use store::Store;
use store::read::View;

/// Runs the command.
pub(crate) async fn run(options: options::Circuit) -> Result<ExitCode> {
    let key: (CarTypeName, Revision) = (options.car_type.parse()?, options.revision.parse()?);
    let store = Store::open_existing(&options.database.database, options.database.zone).await?;
    let today = store.zone().day_of(clock::now());
    let mut view = store.view().await?;
    let found = view.documents.car_types.get(&key);
    let design = found
        .map(|found| Arc::clone(&found.document))
        .with_context(|| format!("there is no car type {} revision {}", key.0, key.1))?;
    let code = match &options.check {
        None => {
            let text = design.circuit.to_text();
            io::stdout().lock().write_all(text.as_bytes())?;
            ExitCode::SUCCESS
        }
        Some(path) => {
            let text = fs::read_to_string(path)
                .with_context(|| format!("{} cannot be read", path.display()))?;
            match read(&text, &design) {
                Ok(changed) => {
                    let formation = options.formation.as_deref();
                    let trial = trial(&mut view, &design, (formation, today)).await?;
                    let looked_at = LookedAt::of(&changed, Some(&design), trial.as_ref());
                    tell(&mut io::stdout().lock(), &looked_at)?;
                    ExitCode::SUCCESS
                }
                Err(faults) => {
                    writeln!(io::stdout().lock(), "{}", faults.join("\n"))?;
                    ExitCode::FAILURE
                }
            }
        }
    };
    drop(view);
    store.close().await;
    Ok(code)
}

/// The design with a text as its circuit, or what is wrong with the text.
fn read(text: &str, design: &CarType) -> Result<Arc<CarType>, Vec<String>> {
    let read = CircuitText::read(text).map_err(|faults| {
        let told = faults.iter().map(ToString::to_string);
        told.collect::<Vec<_>>()
    })?;
    let changed = CarType {
        circuit: read.circuit.clone(),
        ..design.clone()
    };
    match CompiledCircuit::new(&changed) {
        Ok(_) => Ok(Arc::new(changed)),
        Err(faults) => Err(faults.iter().map(|fault| read.told(fault)).collect()),
    }
}

/// The formation to try it in; none where nothing is named and no car is built to the design.
async fn trial(
    view: &mut View,
    design: &CarType,
    (formation, today): (Option<&str>, Day),
) -> Result<Option<Trial>> {
    let vehicles = match formation {
        None => {
            let example = view.vehicle_of_design(design, today).await?;
            example.into_iter().collect()
        }
        Some(formation) => {
            let formation: FormationText = formation.parse()?;
            view.vehicles(&formation).await??
        }
    };
    Ok(view.trial(vehicles, today).await??)
}

/// What is doubtful in the circuit and what it changes, in effects.
fn tell(out: &mut impl Write, looked_at: &LookedAt) -> io::Result<()> {
    writeln!(out, "It can be worked with.")?;
    for remark in &looked_at.remarks {
        writeln!(out, "doubtful: {remark}")?;
    }
    for line in &looked_at.gone {
        writeln!(out, "gone: {line}")?;
    }
    for line in &looked_at.new {
        writeln!(out, "new: {line}")?;
    }
    if !looked_at.lacking.is_empty() {
        let lacking = looked_at.lacking.iter();
        let lacking: Vec<_> = lacking
            .map(|one| format!("{} ({})", one.what, one.of))
            .collect();
        let lacking = lacking.join("; ");
        return writeln!(
            out,
            "what it takes cannot be told, because this is missing: {lacking}"
        );
    }
    let (car, formation) = (&looked_at.car, &looked_at.formation);
    writeln!(
        out,
        "tried as car {car} in {formation}, once stored air is used up:"
    )?;
    for row in &looked_at.sound {
        let before = row.before.as_deref().unwrap_or_default().join("; ");
        let after = row.after.join("; ");
        let worse = if row.worse { " (brakes less)" } else { "" };
        if before == after {
            writeln!(out, "sound, {}: {after}", row.mode)?;
        } else {
            writeln!(out, "sound, {}: {before}; now {after}{worse}", row.mode)?;
        }
    }
    for row in &looked_at.otherwise {
        let (before, after) = (row.before.join("; "), row.after.join("; "));
        let (code, title, state) = (&row.code, &row.title, &row.state);
        writeln!(out, "{code} {title}, {state}: took {before}; takes {after}")?;
    }
    if looked_at.otherwise.is_empty() {
        writeln!(out, "every position of that car takes what it took")?;
    }
    Ok(())
}
