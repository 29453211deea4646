//! Weak points: what every single failure takes away, and every pair.

use super::file::InFile;
use super::head::Head;
use super::posed::Posed;
use super::words::{functions, position};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::limits::{WEAK_POINTS_AT_ONCE, WEAK_POINTS_SHOWN};
use crate::respond::{PageResult, page};
use askama::Template;
use domain::decision::TrainCar;
use domain::isolation::closing::Spot;
use domain::isolation::weak_points::{Fails, Failure as Weakness, WeakPair, WeakPoint, WeakPoints};
use domain::units::Kilograms;
use domain::worked::Missing;
use exchange::output::OutputError;
use std::collections::BTreeMap;
use tokio::sync::Semaphore;

/// Evaluating all pairs of a long train takes a core for a while; more requests wait.
static EVALUATIONS: Semaphore = Semaphore::const_new(WEAK_POINTS_AT_ONCE);

#[derive(Template)]
#[template(path = "further/weak_points.html")]
struct WeakPointsPage {
    frame: Frame,
    head: Head,
    csv: String,
    xlsx: String,
    found: Option<Found>,
}

struct Found {
    at_once: String,
    later: String,
    singles: Vec<SingleRow>,
    /// How many failures take something, and how many there are.
    that_take: usize,
    all: usize,
    pairs: Vec<PairRow>,
    hidden: Vec<PairRow>,
    /// How many of the pairs the files hold.
    in_file: String,
    evaluated: usize,
    /// How many positions pairs are made of.
    paired: usize,
    /// Those that are left out, car by car.
    left_out: Vec<(String, String)>,
    pairs_that_take: usize,
    pairs_hidden: usize,
}

struct SingleRow {
    failure: FailureWords,
    /// Where else the same leak may be, car by car.
    likewise: Vec<String>,
    weights: Weights,
    functions: Vec<String>,
}

/// Braked weight lost at once, and once stored air is used up.
struct Weights {
    at_once: String,
    later: String,
    /// Which of the two is the greater, as the question of what to close tells it.
    more_at_once: bool,
}

impl Weights {
    fn new(at_once: Kilograms, later: Kilograms) -> Self {
        Self {
            at_once: at_once.to_string(),
            later: later.to_string(),
            more_at_once: at_once > later,
        }
    }
}

struct PairRow {
    one: FailureWords,
    other: FailureWords,
    weights: Weights,
    beyond: String,
}

/// A failure in words.
#[derive(Debug, Clone)]
pub(super) struct FailureWords {
    pub(super) car: String,
    pub(super) code: String,
    pub(super) title: String,
    pub(super) state: String,
    /// Of a leak, the pipe.
    pub(super) pipe: Option<&'static str>,
    /// Of a leak, where else in the pipe it may be.
    pub(super) elsewhere: String,
}

impl FailureWords {
    pub(super) fn of(cars: &[TrainCar], failure: &Weakness) -> Self {
        let spot = Spot {
            car: failure.car,
            car_number: failure.car_number.clone(),
            position: failure.position.clone(),
        };
        let position = position(cars, &spot);
        Self {
            car: failure.car_number.to_string(),
            code: failure.position.to_string(),
            title: position.map_or(String::new(), |position| position.title.clone()),
            state: failure.how.to_string(),
            pipe: failure.how.pipe(),
            elsewhere: failure.how.elsewhere(),
        }
    }
}

/// The weak points of a train, worked out where they hold up no other request.
pub(crate) async fn weak_points(posed: Posed) -> Result<Result<WeakPoints, Missing>, Failure> {
    let question = match posed.asking.question {
        Ok(question) => question,
        Err(missing) => return Ok(Err(missing)),
    };
    // It is never closed.
    let _turn = EVALUATIONS.acquire().await;
    let found = tokio::task::spawn_blocking(move || question.weak_points()).await;
    found.map_err(|why| Failure::File(OutputError::Io(std::io::Error::other(why))))
}

pub(super) async fn show(head: Head, posed: Posed) -> PageResult {
    let file = |kind: &str| {
        head.with([])
            .replacen("/weak-points", &format!("/weak-points.{kind}"), 1)
    };
    let mut shown = WeakPointsPage {
        csv: file("csv"),
        xlsx: file("xlsx"),
        frame: head.frame.clone(),
        head,
        found: None,
    };
    let cars = posed.asking.cars.clone();
    match weak_points(posed).await? {
        Ok(found) => shown.found = Some(Found::new(&cars, &found)),
        Err(missing) => shown.head = shown.head.lacking(missing),
    }
    page(&shown)
}

impl Found {
    fn new(cars: &[TrainCar], found: &WeakPoints) -> Self {
        let takes = |single: &&WeakPoint| !single.losses.is_nothing();
        let taking = found.singles.iter().filter(takes);
        let pair = |pair: &WeakPair| pair_row(cars, &found.singles, pair);
        let pairs = &found.pairs;
        Self {
            at_once: found.at_once.to_string(),
            later: found.later.to_string(),
            that_take: taking.clone().count(),
            all: found.singles.len(),
            singles: taking
                .take(WEAK_POINTS_SHOWN)
                .map(|one| single_row(cars, one))
                .collect(),
            pairs: pairs
                .worst
                .iter()
                .take(WEAK_POINTS_SHOWN)
                .filter_map(pair)
                .collect(),
            hidden: pairs
                .hidden
                .iter()
                .take(WEAK_POINTS_SHOWN)
                .filter_map(pair)
                .collect(),
            in_file: InFile::of(found).in_words(),
            evaluated: pairs.evaluated,
            paired: found.singles.len().saturating_sub(pairs.left_out.len()),
            left_out: left_out(found),
            pairs_that_take: pairs.that_take,
            pairs_hidden: pairs.that_take_beyond_each,
        }
    }
}

fn single_row(cars: &[TrainCar], single: &WeakPoint) -> SingleRow {
    SingleRow {
        failure: FailureWords::of(cars, &single.failure),
        likewise: match &single.failure.how {
            Fails::To(_) => Vec::new(),
            Fails::Leaks { likewise, .. } => by_car(likewise),
        },
        weights: Weights::new(single.losses.at_once, single.losses.later),
        functions: functions(&single.losses),
    }
}

fn pair_row(cars: &[TrainCar], singles: &[WeakPoint], pair: &WeakPair) -> Option<PairRow> {
    let words = |at: usize| Some(FailureWords::of(cars, &singles.get(at)?.failure));
    Some(PairRow {
        one: words(pair.one)?,
        other: words(pair.other)?,
        weights: Weights::new(pair.at_once, pair.later),
        beyond: pair.beyond_each.to_string(),
    })
}

/// Positions, car by car in the order of the train.
fn by_car(spots: &[Spot]) -> Vec<String> {
    let cars = spots.chunk_by(|one, next| one.car == next.car);
    let of_car = |spots: &[Spot]| {
        let codes: Vec<&str> = spots.iter().map(|spot| spot.position.as_str()).collect();
        let car = spots.first().map(|spot| spot.car_number.to_string());
        format!("{} {}", car.unwrap_or_default(), codes.join(" "))
    };
    cars.map(of_car).collect()
}

/// The positions of which no pairs are made, by car in the order of the train.
fn left_out(found: &WeakPoints) -> Vec<(String, String)> {
    let mut cars: BTreeMap<usize, (String, Vec<String>)> = BTreeMap::new();
    let of_singles = found.pairs.left_out.iter();
    for single in of_singles.filter_map(|at| found.singles.get(*at)) {
        let failure = &single.failure;
        let car = || (failure.car_number.to_string(), Vec::new());
        let (_, codes) = cars.entry(failure.car).or_insert_with(car);
        codes.push(match &failure.how {
            Fails::To(_) => failure.position.to_string(),
            Fails::Leaks { .. } => format!("{} that leaks", failure.position),
        });
    }
    let sorted = cars.into_values().map(|(car, mut codes)| {
        codes.sort_unstable();
        (car, codes.join(", "))
    });
    sorted.collect()
}
