//! May a train of twelve cars run with the cocks of a bogie closed?

use crate::client::{Client, escaped};
use crate::database::Database;
use crate::figures::{Table, Times};
use crate::fleet::Fleet;
use domain::decision::answer::answer;
use domain::decision::asked::{AskedField, Words};
use domain::decision::formation::FormationText;
use domain::decision::supposed::supposed;
use domain::rule_set::in_force::in_force;
use domain::time::{Day, Zone};
use std::time::Instant;
use store::Store;

/// Trains asked about.
const TRAINS: usize = 200;
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
    table.put(
        "decision on 12 cars, in the core, ms",
        "< 1 ms",
        core.to_string(),
    );
    let mut pages = Times::new();
    for Train { formation, close } in &trains {
        let (formation, close) = (escaped(formation), escaped(close));
        let path = format!("/decision?formation={formation}&close={close}&speed={SPEED}");
        pages.add(client.get(&path).took);
    }
    table.put("decision on 12 cars, page, ms", "", pages.to_string());
}

/// From the facts of the cars to the verdicts; reading the facts is not in the time.
async fn in_core(database: &Database, trains: &[Train]) -> Times {
    let store = Store::open(&database.url, Zone::UTC).await.unwrap();
    let mut view = store.view().await.unwrap();
    let today: Day = DAY.parse().unwrap();
    let mut times = Times::new();
    for train in trains {
        let formation: FormationText = train.formation.parse().unwrap();
        let vehicles = view.vehicles(&formation).await.unwrap().unwrap();
        let cars = view.formation(&vehicles).await.unwrap().unwrap();
        let documents = &view.documents;
        let cars = cars
            .iter()
            .map(|car| car.for_decision(documents, today))
            .collect();
        let closed = supposed([&*train.close]).unwrap();
        let sets = documents.rule_sets.values();
        let rule_sets = in_force(sets.map(|set| (set.by, &*set.document)), today);
        let mut words = Words::default();
        words.put(AskedField::Speed, SPEED);
        let asked = Instant::now();
        let answer = answer(words, cars, closed, (&rule_sets, today)).unwrap();
        times.add(asked.elapsed());
        assert_eq!(answer.cars.len(), 12);
        assert!(answer.decision.is_ok(), "{:?}", answer.decision);
    }
    drop(view);
    store.close().await;
    times
}
