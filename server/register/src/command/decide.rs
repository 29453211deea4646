//! `register decide`: may this train run? The same answer as the page, as text.

use super::told::Told;
use crate::clock;
use crate::options;
use anyhow::{Context, Result, bail};
use domain::configuration::car::Vehicle;
use domain::decision::answer::answer;
use domain::decision::asked::{AskedField, Words};
use domain::decision::formation::FormationText;
use domain::decision::supposed::{Supposed, supposed, with_codes};
use domain::identity::{CarNumber, PositionCode, TrainId};
use domain::ledger::dossier::Documents;
use domain::rule_set::in_force::in_force;
use domain::time::Day;
use std::io::Write;
use std::process::ExitCode;
use store::Store;
use store::read::View;
use store::read::formations::CarInTrain;

/// Runs the command.
pub(crate) async fn run(options: options::Decide) -> Result<ExitCode> {
    let database = &options.database;
    let store = Store::open_existing(&database.database, database.zone.clone()).await?;
    let now = clock::now();
    let today = store.zone().day_of(now);
    let mut view = store.view().await?;
    let vehicles = vehicles(&mut view, &options).await?;
    let cars = view.formation(&vehicles, Some(today)).await??;
    let elsewhere = elsewhere(&mut view, &options).await?;
    let documents = &view.documents;
    let train_cars = cars.iter();
    let train_cars = train_cars.map(|car| car.for_decision(documents, today));
    let train_cars = train_cars.collect();
    let supposed = Names(&cars, documents, today).supposed(&options.close)?;
    let sets = documents.rule_sets.values();
    let rule_sets = in_force(sets.map(|set| (set.by, &*set.document)), today);
    let answer = answer(
        words(&options),
        train_cars,
        supposed.clone(),
        (&rule_sets, (now, today)),
    )?;
    if let Some((field, why)) = answer.faults.first() {
        bail!("--{}: {why}", field.name().replace('_', "-"));
    }
    let told = Told {
        answer: &answer,
        supposed: &supposed,
        zone: store.zone(),
    };
    write!(
        std::io::stdout().lock(),
        "{}
{elsewhere}{told}",
        title(&options)
    )?;
    drop(view);
    store.close().await;
    Ok(ExitCode::SUCCESS)
}

/// The cars of a train with their types, by which positions may be called other than by their code.
pub(super) struct Names<'a>(
    pub(super) &'a [CarInTrain],
    pub(super) &'a Documents,
    pub(super) Day,
);

impl Names<'_> {
    /// The position of a car of the train that has that name, or what was expected.
    pub(super) fn code(&self, car: &CarNumber, name: &str) -> Result<PositionCode, String> {
        let Self(cars, documents, today) = self;
        if let Ok(code) = name.parse() {
            return Ok(code);
        }
        let record = cars.iter().find(|one| one.record.car.number == *car);
        let record = record.ok_or_else(|| format!("a car of this train, which {car} is not"))?;
        let car_type = documents.car_type(&record.record.car, *today);
        let car_type = car_type.ok_or_else(|| "a position code".to_owned())?;
        let named = documents.place_named(car_type, name);
        named.map_err(|why| why.to_string())
    }

    pub(super) fn supposed(&self, texts: &[String]) -> Result<Vec<Supposed>> {
        let by_code = texts
            .iter()
            .map(|text| with_codes(text, |car, name| self.code(car, name)));
        let by_code: Vec<String> = by_code.collect::<Result<_, _>>()?;
        Ok(supposed(by_code.iter().map(String::as_str))?)
    }
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

/// A line about the trains formed later that cars of the train are in; nothing where they are in
/// none.
async fn elsewhere(view: &mut View, options: &options::Decide) -> Result<String> {
    let Some(train) = &options.train else {
        return Ok(String::new());
    };
    let id: TrainId = train.parse()?;
    let Some(train) = view.train(&id).await? else {
        return Ok(String::new());
    };
    let later = view.formed_later(&train).await?;
    let later: Vec<String> = later.iter().map(ToString::to_string).collect();
    Ok(match later.as_slice() {
        [] => String::new(),
        later => format!(
            "Cars of it are in a train formed later, {}: ask there. Nothing is decided about it as it \
             is here.\n",
            later.join(", ")
        ),
    })
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
