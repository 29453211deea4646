//! Fault finding: what was seen, which single faults explain it, and where to look next.

use super::head::Head;
use super::posed::Posed;
use super::trial::{OnTrial, TrialRow, on_trial};
use super::words::{self, SpotWords, looked_at};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use askama::Template;
use axum::response::{IntoResponse, Redirect};
use domain::decision::seen::{Sight, sights};
use domain::decision::trial::{FittedAt, trials};
use domain::decision::{Question, TrainCar};
use domain::identity::CarNumber;
use domain::isolation::Supply;
use domain::isolation::closing::Spot;
use domain::isolation::fault_finding::{
    AsRecorded, Candidate, FaultFinding, NextTest, Observation, Suspected,
};
use domain::isolation::observed::{During, Seen};
use domain::time::Zone;
use domain::unreadable::Unreadable;
use domain::worked::Missing;
use store::read::View;

#[derive(Template)]
#[template(path = "further/faults.html")]
struct FaultsPage {
    frame: Frame,
    head: Head,
    sights: Vec<SightRow>,
    /// What the form must bring along beside the question.
    hidden: Vec<(&'static str, String)>,
    during: Vec<(&'static str, &'static str)>,
    seen: Vec<(&'static str, &'static str)>,
    supply: Supply,
    /// The same with the other supply: name and address.
    other_supply: String,
    /// Suspected components that changed places with others.
    on_trial: Vec<OnTrial>,
    found: Option<Found>,
}

/// Something seen, with the way to take it back.
struct SightRow {
    words: String,
    without: String,
}

struct Found {
    tried: usize,
    /// How many faults explain it: a position may have several.
    faults: usize,
    as_recorded: bool,
    suspects: Vec<Suspect>,
    next: Vec<NextRow>,
    /// Swaps that tell whether a component is at fault.
    trials: Vec<TrialRow>,
}

/// A position with what may be the matter there.
struct Suspect {
    at: SpotWords,
    faults: Vec<String>,
}

struct NextRow {
    place: String,
    during: &'static str,
    if_seen: Outcome,
    if_not: Outcome,
}

/// What is left of the suspects after a look.
struct Outcome {
    words: &'static str,
    left: usize,
    href: String,
}

/// The page of fault finding: one statement for what is fitted, and two where suspected components
/// changed places with others. Of a past time no swap is told of: what stood where then may be elsewhere.
pub(super) async fn show(
    head: Head,
    posed: &Posed,
    (view, zone): (&mut View, &Zone),
) -> PageResult {
    let mut sights = sights(posed.extra.all("saw"))?;
    let supply = posed.extra.read("supply")?.unwrap_or(Supply::Now);
    let links = Links {
        head: &head,
        supply,
    };
    if let Some(one) = added(posed)? {
        sights.retain(|s| (&s.car, &s.at, s.during) != (&one.car, &one.at, one.during));
        sights.push(one);
        return Ok(Redirect::to(&links.to(&sights)).into_response());
    }
    let cars = &posed.asking.cars;
    let observations: Vec<Observation> = sights
        .iter()
        .map(|sight| sight.in_train(cars))
        .collect::<Result<_, _>>()?;
    let numbers: Vec<&CarNumber> = cars.iter().map(|car| &car.number).collect();
    let fitted = if posed.link.is_of_then() {
        Vec::new()
    } else {
        view.fitted_on(&numbers).await?
    };
    let (mut found, mut missing) = (None, None);
    if let Ok(question) = &posed.asking.question {
        match answer(question, &observations, supply) {
            Ok(answer) => {
                let new =
                    |answer: FaultFinding| Found::new((cars, &fitted), &answer, &links, &sights);
                found = answer.map(new);
            }
            Err(why) => missing = Some(why),
        }
    }
    let other = match supply {
        Supply::Now => Supply::Exhausted,
        Supply::Exhausted => Supply::Now,
    };
    let rows = sights.iter().zip(&observations);
    let rows = rows.map(|(sight, seen)| sight_row(cars, &links, (&sights, sight), seen));
    let sight_rows: Vec<SightRow> = rows.collect();
    let hidden = sights.iter().map(|sight| ("saw", sight.to_string()));
    let supply_too = ("supply", supply.name().to_owned());
    let hidden = hidden.chain([supply_too]).collect();
    let other_supply = Links {
        head: &head,
        supply: other,
    }
    .to(&sights);
    page(&FaultsPage {
        frame: head.frame.clone(),
        sights: sight_rows,
        hidden,
        during: choices(During::ALL, |one| (one.name(), words::during(one))),
        seen: choices(Seen::ALL, |one| (one.name(), words::seen(one))),
        supply,
        other_supply,
        on_trial: on_trial(view, &fitted, zone).await?,
        found,
        head: match missing {
            Some(missing) => head.lacking(missing),
            None => head,
        },
    })
}

/// Names and words to choose from.
fn choices<T: Copy>(
    all: &[T],
    choice: fn(T) -> (&'static str, &'static str),
) -> Vec<(&'static str, &'static str)> {
    all.iter().map(|one| choice(*one)).collect()
}

/// Nothing is looked for before anything was seen.
fn answer(
    question: &Question,
    observations: &[Observation],
    supply: Supply,
) -> Result<Option<FaultFinding>, Missing> {
    if observations.is_empty() {
        return Ok(None);
    }
    question.find_faults(observations, supply).map(Some)
}

/// What the form adds.
fn added(posed: &Posed) -> Result<Option<Sight>, Unreadable> {
    let extra = &posed.extra;
    let fields = (
        extra.read("car")?,
        extra.read("position")?,
        extra.read("during")?,
        extra.read("seen")?,
    );
    let (Some(car), Some(at), Some(during), Some(seen)) = fields else {
        return Ok(None);
    };
    let sight = Sight {
        car,
        at,
        during,
        seen,
    };
    sight.in_train(&posed.asking.cars)?;
    Ok(Some(sight))
}

/// Addresses of this page.
struct Links<'a> {
    head: &'a Head,
    supply: Supply,
}

impl Links<'_> {
    fn to(&self, sights: &[Sight]) -> String {
        let saw = sights.iter().map(|sight| ("saw", sight.to_string()));
        self.head
            .with(saw.chain([("supply", self.supply.name().to_owned())]))
    }
}

fn sight_row(
    cars: &[TrainCar],
    links: &Links<'_>,
    (sights, sight): (&[Sight], &Sight),
    observation: &Observation,
) -> SightRow {
    let others: Vec<Sight> = sights
        .iter()
        .filter(|other| *other != sight)
        .cloned()
        .collect();
    SightRow {
        words: format!(
            "{}: {} {}",
            looked_at(cars, &observation.at),
            words::seen(observation.seen),
            words::during(observation.during)
        ),
        without: links.to(&others),
    }
}

impl Found {
    fn new(
        (cars, fitted): (&[TrainCar], &[FittedAt]),
        found: &FaultFinding,
        links: &Links<'_>,
        sights: &[Sight],
    ) -> Self {
        let mut suspects: Vec<(&Spot, Suspect)> = Vec::new();
        for candidate in &found.candidates {
            let fault = in_words(candidate);
            let known = suspects.iter_mut().find(|(at, _)| **at == candidate.at);
            if let Some((_, suspect)) = known {
                suspect.faults.push(fault);
                continue;
            }
            let at = SpotWords::of(cars, &candidate.at);
            let faults = vec![fault];
            suspects.push((&candidate.at, Suspect { at, faults }));
        }
        let next = found
            .next
            .iter()
            .map(|next| next_row(cars, next, links, sights));
        let trials = trials(cars, &found.candidates, fitted);
        Self {
            trials: trials.iter().map(|one| TrialRow::of(cars, one)).collect(),
            tried: found.tried,
            faults: found.candidates.len(),
            as_recorded: found.as_recorded == AsRecorded::Explains,
            next: next.collect(),
            suspects: suspects.into_iter().map(|(_, suspect)| suspect).collect(),
        }
    }
}

fn next_row(cars: &[TrainCar], next: &NextTest, links: &Links<'_>, sights: &[Sight]) -> NextRow {
    let outcome = |seen: Seen, left: usize| {
        let sight = Sight::of(&next.at, next.during, seen);
        Outcome {
            words: words::seen(seen),
            left,
            href: links.to(&[sights, &[sight]].concat()),
        }
    };
    NextRow {
        place: looked_at(cars, &next.at),
        during: words::during(next.during),
        if_seen: outcome(next.seen, next.left_if_seen),
        if_not: outcome(next.seen.otherwise(), next.left_if_not),
    }
}

/// What may be the matter, and at how many other places of the pipe it may be as well.
fn in_words(candidate: &Candidate) -> String {
    let matter = matter(candidate.suspected);
    match candidate.likewise.len() {
        0 => matter.to_owned(),
        1 => format!("{matter}; 1 other place of that pipe shows the same"),
        others => format!("{matter}; {others} other places of that pipe show the same"),
    }
}

/// What may be the matter, in words.
pub(crate) const fn matter(suspected: Suspected) -> &'static str {
    match suspected {
        Suspected::ClosedVented => "stands closed, and what lies behind it is emptied",
        Suspected::ClosedTrapped => "stands closed, with air shut in behind it",
        Suspected::NotAsRecorded => "is not as the register has it",
        Suspected::Failed => "delivers nothing",
        Suspected::StuckOpen => "passes air though nothing commands it",
        Suspected::StuckOn => "stays on",
        Suspected::OpenToOutside => "is missing, or open to the outside",
        Suspected::StuckReleased => "is stuck in release, and commands nothing",
        Suspected::Leaks => "leaks, and its pipe has lost its air",
        Suspected::StuckApplied => "is stuck applied, and commands the brake though nobody does",
        Suspected::Opened => "stands open, and commands the brake",
        Suspected::PipeEmpty => {
            "leaks or stands open: the brake pipe has lost its air, which applies brakes"
        }
    }
}
