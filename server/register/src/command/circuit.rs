//! `register circuit`: writes the circuit of a car type as text, or checks a text against it, so
//! that circuits can be kept beside drawings.

use crate::options;
use anyhow::{Context, Result};
use domain::circuit::check::{check, check_against};
use domain::circuit::compiled::CompiledCircuit;
use domain::circuit::text::CircuitText;
use domain::configuration::car_type::CarType;
use domain::identity::{CarTypeName, Revision};
use std::fs;
use std::io::Write;
use std::process::ExitCode;
use store::Store;

/// Runs the command.
pub(crate) async fn run(options: options::Circuit) -> Result<ExitCode> {
    let key: (CarTypeName, Revision) = (options.car_type.parse()?, options.revision.parse()?);
    let store = Store::open_existing(&options.database.database, options.database.zone).await?;
    let view = store.view().await?;
    let found = view.documents.car_types.get(&key);
    let design = found
        .map(|found| (*found.document).clone())
        .with_context(|| format!("there is no car type {} revision {}", key.0, key.1))?;
    drop(view);
    store.close().await;
    let mut out = std::io::stdout().lock();
    let Some(path) = options.check else {
        out.write_all(design.circuit.to_text().as_bytes())?;
        return Ok(ExitCode::SUCCESS);
    };
    let text =
        fs::read_to_string(&path).with_context(|| format!("{} cannot be read", path.display()))?;
    let (told, code) = checked(&text, design);
    for line in told {
        writeln!(out, "{line}")?;
    }
    Ok(code)
}

/// What is wrong with a text as the circuit of a car type, or what is doubtful in it.
fn checked(text: &str, design: CarType) -> (Vec<String>, ExitCode) {
    let read = match CircuitText::read(text) {
        Ok(read) => read,
        Err(faults) => {
            let told = faults.iter().map(ToString::to_string).collect();
            return (told, ExitCode::FAILURE);
        }
    };
    let before = design;
    let design = CarType {
        circuit: read.circuit.clone(),
        ..before.clone()
    };
    match CompiledCircuit::new(&design) {
        Ok(circuit) => {
            let mut told = vec!["It can be worked with.".to_owned()];
            let mut remarks = check(&circuit);
            remarks.extend(check_against(&circuit, &before));
            told.extend(remarks.iter().map(|remark| format!("doubtful: {remark}")));
            (told, ExitCode::SUCCESS)
        }
        Err(faults) => {
            let told = faults.iter().map(|fault| read.told(fault));
            (told.collect(), ExitCode::FAILURE)
        }
    }
}
