//! `register ask`: further questions about a train, as text. The same answers as the pages.

use super::decide::{Names, title, vehicles, words};
use crate::clock;
use crate::options::{self, Further};
use anyhow::{Result, anyhow, bail};
use domain::configuration::component::PositionRef;
use domain::decision::Question;
use domain::decision::answer::ask;
use domain::decision::further::WhatToClose;
use domain::decision::seen::{Sight, sights, with_code};
use domain::isolation::closing::{
    ChargedAir, ChargedReservoir, ClosingSet, DeadSection, PipeAir, Spot,
};
use domain::isolation::fault_finding::{AsRecorded, FaultFinding};
use domain::isolation::losses::Losses;
use domain::isolation::path::{Delivers, Path};
use domain::isolation::reveal::{Reveal, Test};
use domain::isolation::weak_points::{WeakPair, WeakPoints};
use domain::rule_set::RuleSet;
use domain::rule_set::in_force::in_force;
use domain::test_record::procedure::Procedure;
use domain::worked::Missing;
use std::io::Write;
use std::process::ExitCode;
use store::Store;

/// How many pairs of each order are told.
const PAIRS_TOLD: usize = 40;

/// Runs the command.
pub(crate) async fn run(options: options::Ask) -> Result<ExitCode> {
    let asked = &options.question;
    let database = &asked.database;
    let store = Store::open_existing(&database.database, database.zone.clone()).await?;
    let now = clock::now();
    let today = store.zone().day_of(now);
    let mut view = store.view().await?;
    let vehicles = vehicles(&mut view, asked).await?;
    let cars = view.formation(&vehicles, Some(today)).await??;
    let documents = &view.documents;
    let train_cars = cars.iter();
    let train_cars = train_cars.map(|car| car.for_decision(documents, today));
    let train_cars = train_cars.collect();
    let names = Names(&cars, documents, today);
    let supposed = names.supposed(&asked.close)?;
    let sets = documents.rule_sets.values();
    let rule_sets = in_force(sets.map(|set| (set.by, &*set.document)), today);
    let when = (now, today);
    let read = ask(words(asked), train_cars, supposed, (&rule_sets, when))?;
    if let Some((field, why)) = read.faults.first() {
        bail!("--{}: {why}", field.name().replace('_', "-"));
    }
    let procedures = documents.newest_procedures();
    let procedures: Vec<&Procedure> = procedures.iter().map(|one| &**one).collect();
    let told = match read.question {
        Ok(question) => told(
            &question,
            (&options.what, &names),
            (&rule_sets, &procedures),
        )?,
        Err(missing) => bail!("{missing}"),
    };
    write!(std::io::stdout().lock(), "{}\n{told}", title(asked))?;
    drop(view);
    store.close().await;
    Ok(ExitCode::SUCCESS)
}

fn told(
    question: &Question,
    (what, names): (&Further, &Names<'_>),
    (rule_sets, procedures): (&[&RuleSet], &[&Procedure]),
) -> Result<String> {
    let lines = match what {
        Further::Closing(at) => {
            closing(&known(question.what_to_close(&at.read(names)?, rule_sets))?)
        }
        Further::WeakPoints => weak_points(&known(question.weak_points())?),
        Further::Path { at, mode } => path(&known(question.path(&at.read(names)?, mode.parse()?))?),
        Further::Faults { saw, supply } => {
            let saw = saw
                .iter()
                .map(|text| with_code(text, |car, name| names.code(car, name)));
            let saw: Vec<String> = saw.collect::<Result<_, _>>()?;
            let sights = sights(saw.iter().map(String::as_str))?;
            let seen = sights.iter().map(|sight| sight.in_train(&question.cars));
            let seen: Vec<_> = seen.collect::<Result<_, _>>()?;
            faults(&known(question.find_faults(&seen, supply.parse()?))?)
        }
        Further::Revealed => revealed(&known(question.reveal(procedures))?),
    };
    Ok(lines.into_iter().map(|line| line + "\n").collect())
}

/// An answer, or what is missing for one.
fn known<T>(answer: Result<T, Missing>) -> Result<T> {
    answer.map_err(|missing| anyhow!("{missing}"))
}

impl options::At {
    fn read(&self, names: &Names<'_>) -> Result<PositionRef> {
        let car = self.car.parse()?;
        let code = names.code(&car, &self.position);
        let position = code.map_err(|expected| {
            anyhow!("position: expected {expected}, found “{}”", self.position)
        })?;
        Ok(PositionRef { car, position })
    }
}

fn spot(spot: &Spot) -> String {
    format!("{} {}", spot.car_number, spot.position)
}

fn losses(losses: &Losses) -> String {
    let functions = losses.functions.iter();
    let functions: Vec<String> = functions
        .map(|loss| format!("{} {}", loss.lost, loss.function))
        .collect();
    let besides = if functions.is_empty() {
        String::new()
    } else {
        format!("; besides {}", functions.join(", "))
    };
    format!(
        "{} later, {} at once{besides}",
        losses.later, losses.at_once
    )
}

fn closing(found: &WhatToClose) -> Vec<String> {
    let closing = &found.closing;
    if !closing.carries_air {
        return vec![
            "No air comes to it or from it: no cock matters. Switch it off electrically.".into(),
        ];
    }
    let mut lines = Vec::new();
    if closing.makes_pressure {
        lines.push("It makes pressure of itself: switch it off and secure it. With it off:".into());
    }
    if !closing.without_cock.is_empty() {
        let off = spots(&closing.without_cock, " and ");
        lines.push(format!(
            "No cock stands between it and {off}: switch that off and secure it. With that done:"
        ));
    }
    if closing.sets.is_empty() {
        lines.push("No set of cocks keeps air from it. Empty what feeds it:".into());
        lines.extend(closing.to_empty.iter().map(reservoir));
    }
    for (at, set) in closing.sets.iter().enumerate() {
        lines.extend(closing_set(at + 1, set));
        for answer in found.verdicts.get(at).into_iter().flatten() {
            let says = answer
                .verdict
                .as_ref()
                .map_or("no verdict", |worked| worked.value.permission.headline());
            lines.push(format!("   {}: {says}", answer.name));
        }
    }
    lines.push(match closing.complete_to {
        Some(most) => {
            format!("Not all: every set of up to {most} cocks is listed, larger are not.")
        }
        None => "These are all the smallest sets.".to_owned(),
    });
    if let Some(most) = closing.sparing_complete_to {
        lines.push(format!(
            "Of those that need no reservoir drained, every set of up to {most} cocks is listed."
        ));
    }
    lines
}

fn closing_set(number: usize, set: &ClosingSet) -> Vec<String> {
    let cocks = set.cocks.iter();
    let cocks: Vec<String> = cocks
        .map(|cock| format!("{}, {}", spot(&cock.at), cock.state))
        .collect();
    let close = match cocks.as_slice() {
        [] if set.drains() => "no cock: only stored air comes to it".to_owned(),
        [] => "no cock: no air comes to it".to_owned(),
        cocks => cocks.join(" and "),
    };
    let mut lines = vec![format!("{number}. Close {close}")];
    lines.push(format!("   takes {}", losses(&set.losses)));
    lines.extend(set.charged.iter().map(reservoir));
    lines.extend(set.sections.iter().flat_map(section));
    let rests = set.rests_on.iter();
    lines.extend(rests.map(|at| format!("   NO COCK BETWEEN, only valve {}", spot(at))));
    lines
}

fn section(section: &DeadSection) -> [String; 2] {
    let at = format!("at {}, {}", section.side, section.medium);
    let air = match (section.air, section.drains.as_slice()) {
        (PipeAir::LetOut, _) => "the cock empties the pipe, see that it has".to_owned(),
        (PipeAir::Stays, []) => "air stays in the pipe, no drain cock is on it".to_owned(),
        (PipeAir::Stays, drains) => format!("drain the pipe at {}", spots(drains, " or ")),
    };
    let proved = match section.proving.as_slice() {
        [] => "no test point and no gauge is on it: prove it another way".to_owned(),
        proving => format!("prove it without pressure at {}", spots(proving, " or ")),
    };
    [format!("   {at}: {air}"), format!("      {proved}")]
}

fn spots(all: &[Spot], between: &str) -> String {
    let all: Vec<String> = all.iter().map(spot).collect();
    all.join(between)
}

fn reservoir(reservoir: &ChargedReservoir) -> String {
    let what = match reservoir.air {
        ChargedAir::LetOutByTheCock => "emptied by the cock".to_owned(),
        ChargedAir::ToBeDrained => format!("drain at {}", spots(&reservoir.drains, " or ")),
        ChargedAir::HeldByAValve => "stays charged, no drain cock".to_owned(),
    };
    format!(
        "   {} of {} l: {what}",
        spot(&reservoir.at),
        reservoir.volume_l
    )
}

fn weak_points(found: &WeakPoints) -> Vec<String> {
    let mut lines = vec!["Single failures".to_owned()];
    let taking = found.singles.iter().filter(|one| !one.losses.is_nothing());
    lines.extend(taking.map(|one| format!("  {}: {}", one.failure, losses(&one.losses))));
    let pairs = &found.pairs;
    let pair = |pair: &WeakPair| {
        let name = |at: usize| {
            let single = found.singles.get(at)?;
            Some(format!(
                "{} {}",
                single.failure.car_number, single.failure.position
            ))
        };
        let (one, other) = (name(pair.one)?, name(pair.other)?);
        let (later, beyond) = (pair.later, pair.beyond_each);
        Some(format!(
            "  {one} and {other}: {later} later, {beyond} beyond each"
        ))
    };
    lines.push(format!(
        "Pairs that take more than each by itself: {} of {}",
        pairs.that_take_beyond_each, pairs.evaluated
    ));
    lines.extend(pairs.hidden.iter().take(PAIRS_TOLD).filter_map(pair));
    lines.push(format!(
        "Worst pairs: {} take braked weight",
        pairs.that_take
    ));
    lines.extend(pairs.worst.iter().take(PAIRS_TOLD).filter_map(pair));
    lines
}

fn path(path: &Path) -> Vec<String> {
    let mut lines = vec![format!("Reached: {}", path.reached)];
    for leg in &path.legs {
        let medium = leg
            .medium
            .map_or(String::new(), |medium| medium.to_string());
        let input = leg.input.as_deref().unwrap_or("end");
        lines.push(format!("{medium} to {input}"));
        lines.extend(leg.stops.iter().map(|stop| {
            let delivers = match stop.delivers {
                Delivers::Yes => "",
                Delivers::No => "  delivers nothing",
            };
            format!("  {} {}{delivers}", stop.car_number, stop.place)
        }));
    }
    lines
}

fn faults(found: &FaultFinding) -> Vec<String> {
    let mut lines = Vec::new();
    if found.as_recorded == AsRecorded::Explains {
        lines.push("What the register has explains it all.".to_owned());
    }
    lines.push(format!(
        "{} of {} faults explain it",
        found.candidates.len(),
        found.tried
    ));
    let candidates = found.candidates.iter();
    lines.extend(candidates.map(|one| {
        let likewise = match one.likewise.len() {
            0 => String::new(),
            others => format!(", or at {others} more of that pipe"),
        };
        format!("  {} {}{likewise}", spot(&one.at), one.suspected)
    }));
    let next = found.next.iter().map(|next| {
        let look = Sight::of(&next.at, next.during, next.seen);
        format!(
            "Look next: {look}: {} left if so, {} if not",
            next.left_if_seen, next.left_if_not
        )
    });
    lines.extend(next);
    lines
}

fn revealed(reveal: &Reveal) -> Vec<String> {
    let test = |test: &Test| match test {
        Test::OfTheTrain(test) => test.to_string(),
        Test::OfACar {
            procedure,
            measurand,
            ..
        } => format!("{procedure} {measurand}"),
    };
    let line = |one: &domain::isolation::reveal::Detection| {
        let tests: Vec<String> = one.revealed_by.iter().map(test).collect();
        let by = if tests.is_empty() {
            "NO TEST".to_owned()
        } else {
            tests.join("; ")
        };
        format!("  {} {}: {by}", spot(&one.at), one.state)
    };
    let mut detections: Vec<_> = reveal.detections.iter().collect();
    detections.sort_by_key(|one| !one.is_hidden());
    detections.into_iter().map(line).collect()
}
