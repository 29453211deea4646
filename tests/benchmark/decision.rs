//! May a train of twelve cars run with the cocks of a bogie closed?

use crate::client::{Client, escaped};
use crate::database::Database;
use crate::figures::{Table, Times};
use crate::fleet::Fleet;
use crate::pages::timed;
use domain::configuration::component::PositionRef;
use domain::decision::answer::{answer, ask};
use domain::decision::asked::{AskedField, Words};
use domain::decision::formation::FormationText;
use domain::decision::supposed::supposed;
use domain::decision::{Question, Supposed, TrainCar};
use domain::rule_set::RuleSet;
use domain::rule_set::in_force::in_force;
use domain::time::{Day, Zone};
use domain::worked::Missing;
use std::time::Instant;
use store::Store;

/// Trains asked about.
const TRAINS: usize = 1_000;
/// Of how many of them more is asked than a decision.
const FURTHER: usize = 5;
/// Units in a train of twelve cars.
const UNITS: usize = 4;
/// A cock of the first bogie of a car, closed and vented.
const CLOSED: &str = "=BS1-QM1:closed_vented";
const SPEED: &str = "100";
/// A day on which the invented rule sets are in force.
const DAY: &str = "2026-11-21";

/// A train: its units in one text, and the cock that is supposed closed.
struct Train {
    formation: String,
    close: String,
}

fn trains(fleet: &Fleet) -> Vec<Train> {
    let windows = fleet.units.windows(UNITS).cycle().take(TRAINS);
    let train = |units: &[(String, String)]| Train {
        formation: units
            .iter()
            .map(|unit| &*unit.0)
            .collect::<Vec<_>>()
            .join(","),
        close: format!("{}:{CLOSED}", units[1].1),
    };
    windows.map(train).collect()
}

/// Measures decisions, in the core and as a page.
pub(crate) async fn measure(
    client: &mut Client,
    fleet: &Fleet,
    database: &Database,
    table: &mut Table,
) {
    let trains = trains(fleet);
    let core = in_core(database, &trains).await;
    for (what, target, times) in [
        (
            "decision on 12 cars, in the core, ms",
            "< 0.2 ms",
            core.decision,
        ),
        (
            "what to close on 12 cars, in the core, ms",
            "< 100 ms",
            core.closing,
        ),
        (
            "all failures and pairs of 12 cars, in the core, ms",
            "< 1000 ms",
            core.weak_points,
        ),
    ] {
        table.put(what, target, times.to_string());
    }
    let paths = trains.iter().map(|Train { formation, close }| {
        let (formation, close) = (escaped(formation), escaped(close));
        format!("/decision?formation={formation}&close={close}&speed={SPEED}")
    });
    let pages = timed(client, paths);
    table.put(
        "decision on 12 cars, page, ms",
        "p99 < 5 ms",
        pages.to_string(),
    );
}

/// What was measured in the core.
struct InCore {
    decision: Times,
    closing: Times,
    weak_points: Times,
}

/// A train whose facts were read.
struct Asked {
    words: Words,
    cars: Result<Vec<TrainCar>, Missing>,
    closed: Vec<Supposed>,
}

/// From the facts of the cars to the verdicts. The facts of all trains are read before the first
/// is asked about: reading is not in the time.
async fn in_core(database: &Database, trains: &[Train]) -> InCore {
    let store = Store::open(&database.url, Zone::UTC).await.unwrap();
    let mut view = store.view().await.unwrap();
    let today: Day = DAY.parse().unwrap();
    let mut core = InCore {
        decision: Times::new(),
        closing: Times::new(),
        weak_points: Times::new(),
    };
    let mut all = Vec::new();
    for train in trains {
        let formation: FormationText = train.formation.parse().unwrap();
        let vehicles = view.vehicles(&formation).await.unwrap().unwrap();
        let cars = view
            .formation(&vehicles, Some(today))
            .await
            .unwrap()
            .unwrap();
        let cars = cars.iter();
        let mut words = Words::default();
        words.put(AskedField::Speed, SPEED);
        all.push(Asked {
            words,
            cars: cars
                .map(|car| car.for_decision(&view.documents, today))
                .collect(),
            closed: supposed([&*train.close]).unwrap(),
        });
    }
    let sets = view.documents.rule_sets.values();
    let rule_sets = in_force(sets.map(|set| (set.by, &*set.document)), today);
    let rules = (&*rule_sets, (Zone::UTC.start_of(today), today));
    for Asked {
        words,
        cars,
        closed,
    } in all.iter().take(FURTHER)
    {
        let asked = ask(words.clone(), cars.clone(), closed.clone(), rules);
        core.ask_further(&asked.unwrap().question.unwrap(), &rule_sets);
    }
    for Asked {
        words,
        cars,
        closed,
    } in all
    {
        let asked = Instant::now();
        let answer = answer(words, cars, closed, rules).unwrap();
        core.decision.add(asked.elapsed());
        assert_eq!(answer.cars.len(), 12);
        assert!(answer.decision.is_ok(), "{:?}", answer.decision);
    }
    drop(view);
    store.close().await;
    core
}

impl InCore {
    /// What to close for each component in the circuit of a car in the middle of the train, and
    /// what every failure and every pair takes.
    fn ask_further(&mut self, question: &Question, rule_sets: &[&RuleSet]) {
        let car = &question.cars[question.cars.len() / 2];
        for node in &car.circuit.car_type().circuit.nodes {
            let component = PositionRef {
                car: car.number.clone(),
                position: node.position.clone(),
            };
            let asked = Instant::now();
            let closing = question.what_to_close(&component, rule_sets);
            self.closing.add(asked.elapsed());
            assert!(closing.is_ok(), "{component}: {closing:?}");
        }
        let asked = Instant::now();
        let weak_points = question.weak_points();
        self.weak_points.add(asked.elapsed());
        assert!(weak_points.is_ok_and(|found| found.pairs.evaluated > 0));
    }
}
