//! `register decide`: may this train run? The same answer as the page, as text.

use super::told::Told;
use crate::clock;
use crate::options;
use anyhow::{Context, Result, bail};
use domain::configuration::car::Vehicle;
use domain::decision::answer::answer;
use domain::decision::asked::{AskedField, Words};
use domain::decision::formation::FormationText;
use domain::decision::supposed::supposed;
use domain::identity::TrainId;
use domain::rule_set::in_force::in_force;
use std::io::Write;
use std::process::ExitCode;
use store::Store;
use store::read::View;

/// Runs the command.
pub(crate) async fn run(options: options::Decide) -> Result<ExitCode> {
    let database = &options.database;
    let store = Store::open_existing(&database.database, database.zone.clone()).await?;
    let today = store.zone().day_of(clock::now());
    let mut view = store.view().await?;
    let vehicles = vehicles(&mut view, &options).await?;
    let cars = view.formation(&vehicles).await??;
    let documents = &view.documents;
    let train_cars = cars.iter();
    let train_cars = train_cars.map(|car| car.for_decision(documents, today));
    let train_cars = train_cars.collect();
    let supposed = supposed(options.close.iter().map(String::as_str))?;
    let sets = documents.rule_sets.values();
    let rule_sets = in_force(sets.map(|set| (set.by, &*set.document)), today);
    let answer = answer(
        words(&options),
        train_cars,
        supposed.clone(),
        (&rule_sets, today),
    )?;
    if let Some((field, why)) = answer.faults.first() {
        bail!("--{}: {why}", field.name().replace('_', "-"));
    }
    let told = Told {
        answer: &answer,
        supposed: &supposed,
    };
    write!(
        std::io::stdout().lock(),
        "{}
{told}",
        title(&options)
    )?;
    drop(view);
    store.close().await;
    Ok(ExitCode::SUCCESS)
}

pub(super) async fn vehicles(view: &mut View, options: &options::Decide) -> Result<Vec<Vehicle>> {
    match (&options.train, &options.formation) {
        (Some(train), _) => {
            let id: TrainId = train.parse()?;
            let train = view.train(&id).await?;
            let train = train.with_context(|| format!("train {id} is not in the register"))?;
            Ok(train.formation.vehicles)
        }
        (None, Some(formation)) => {
            let formation: FormationText = formation.parse()?;
            Ok(view.vehicles(&formation).await??)
        }
        (None, None) => bail!("name a train with --train or its units and cars with --formation"),
    }
}

pub(super) fn title(options: &options::Decide) -> String {
    match (&options.train, &options.formation) {
        (Some(train), _) => format!("Train {train}"),
        (None, formation) => format!("Formation {}", formation.as_deref().unwrap_or_default()),
    }
}

/// What was given; a field given as `-` is not known.
pub(super) fn words(options: &options::Decide) -> Words {
    let given = [
        (AskedField::Load, &options.load),
        (AskedField::BrakePosition, &options.brake_position),
        (AskedField::Speed, &options.speed),
        (AskedField::Gradient, &options.gradient),
        (AskedField::SignallingDistance, &options.signalling_distance),
        (AskedField::DistanceToGo, &options.distance_to_go),
        (AskedField::Whereabouts, &options.whereabouts),
        (AskedField::TrainKind, &options.train_kind),
        (AskedField::Movement, &options.movement),
        (AskedField::Route, &options.route),
        (AskedField::HoldingAdhesion, &options.holding_adhesion),
    ];
    let mut words = Words::default();
    for (field, text) in given {
        if let Some(text) = text {
            words.put(field, if text == "-" { "" } else { text });
        }
    }
    words
}
