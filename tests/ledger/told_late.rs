//! Cars, units and trains that are told of late: what holds from the latest time stands, whichever
//! was recorded last, and what lies before it is history.

use domain::configuration::car::{Orientation, Train, Vehicle};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::record::founder;
use domain::refusal::Refusal;
use store::Imported;
use store::read::AsAt;
use tests::each_database;
use tests::facts::{at, car, car_of_fleet, fitted, isolated, position, read, unit};
use tests::fleet::{self, COCK, FIRST, UNIT};
use tests::keep_all::KeepAll;
use tests::register::{Register, command};

const SINCE: &str = "2029-01-01T00:00Z";
const EARLIER: &str = "2028-12-01T00:00Z";
const BETWEEN: &str = "2029-02-01T00:00Z";
const LATER: &str = "2029-03-01T00:00Z";

async fn founded(url: &str) -> Register {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    register
}

fn train(name: &str, vehicles: &[Vehicle]) -> Fact {
    Fact::TrainFormed(Train {
        id: name.parse().unwrap(),
        vehicles: vehicles.to_vec(),
    })
}

fn whole_unit() -> Vehicle {
    Vehicle::Unit(UNIT.parse().unwrap(), Orientation::Forward)
}

fn single(car: &str) -> Vehicle {
    Vehicle::Car(car.parse().unwrap(), Orientation::Forward)
}

/// The cars of the only train, in order.
async fn cars_of_train(register: &mut Register) -> Vec<String> {
    let mut rows = register.tables.rows("train_car").await;
    rows.sort_by_key(|row| row["place"].clone());
    let cars = rows.iter().map(|row| row["car_number"].clone().unwrap());
    cars.collect()
}

/// The cars of the unit as it was formed at a time.
async fn cars_of_unit(register: &Register, effective: &str) -> Vec<String> {
    let as_at = AsAt {
        effective: at(effective),
        known: register.now,
    };
    let mut view = register.store.view().await.unwrap();
    let cars = view.unit_told(&UNIT.parse().unwrap(), as_at).await.unwrap();
    let cars = cars.iter().map(|record| record.car.number.to_string());
    cars.collect()
}

async fn depot(register: &Register) -> String {
    let mut view = register.store.view().await.unwrap();
    let known = view.car(&"4101".parse().unwrap()).await.unwrap();
    known.unwrap().car.depot.to_string()
}

async fn a_train_told_of_late_stays_as_it_was_formed_last(url: &str) {
    let mut register = founded(url).await;
    register.record(LATER, train("T 7", &[whole_unit()])).await;
    let late = command(at(BETWEEN), train("T 7", &[single("4103")]));
    let entry = register.kept(late).await;
    assert_eq!(cars_of_train(&mut register).await, ["4101", "4102"]);
    let told = entry.consequences.expect("it is told late");
    assert!(told.is_nothing(), "{told:?}");
    register
        .record("2029-03-02T00:00Z", train("T 7", &[single("4103")]))
        .await;
    assert_eq!(cars_of_train(&mut register).await, ["4103"]);
    register.proves().await;
}

async fn a_new_train_told_of_late_does_not_take_cars_out_of_a_later_one(url: &str) {
    let mut register = founded(url).await;
    register.record(LATER, train("T 7", &[whole_unit()])).await;
    register
        .record(BETWEEN, train("T 8", &[single("4101")]))
        .await;
    let mut view = register.store.view().await.unwrap();
    let later = view.superseded().await.unwrap();
    let names = |name: &str| later.get(&name.parse().unwrap()).cloned();
    assert_eq!(names("T 7"), None);
    assert_eq!(names("T 8"), Some(vec!["T 7".parse().unwrap()]));
    let runs_in = view.train_of_car(&"4101".parse().unwrap()).await.unwrap();
    assert_eq!(runs_in, Some("T 7".parse().unwrap()));
    drop(view);
    register.proves().await;
}

async fn a_unit_told_of_late_is_seen_in_the_past_alone(url: &str) {
    let mut register = founded(url).await;
    register.record(LATER, train("T 7", &[whole_unit()])).await;
    register.record(LATER, unit(UNIT, &["4101", "4103"])).await;
    // Car 4102 is in another unit by now.
    register.record(LATER, unit("42", &["4102"])).await;
    register
        .record(BETWEEN, unit(UNIT, &["4102", "4101"]))
        .await;
    assert_eq!(cars_of_train(&mut register).await, ["4101", "4103"]);
    for (time, cars) in [
        (SINCE, ["4101", "4102"]),
        (BETWEEN, ["4102", "4101"]),
        (LATER, ["4101", "4103"]),
    ] {
        assert_eq!(cars_of_unit(&register, time).await, cars, "{time}");
    }
    register.proves().await;
}

async fn a_car_told_of_late_stays_where_it_is(url: &str) {
    let mut register = founded(url).await;
    register.record(LATER, car("4101", "A", "South")).await;
    register.record(BETWEEN, car("4101", "A", "West")).await;
    assert_eq!(depot(&register).await, "South");
    register
        .record("2029-03-02T00:00Z", car("4101", "A", "North"))
        .await;
    assert_eq!(depot(&register).await, "North");
    register.proves().await;
}

/// The entry that a refusal names.
fn contradicted(refusal: &Refusal) -> Seq {
    let Refusal::Contradicts { by, .. } = refusal else {
        panic!("{refusal}")
    };
    *by
}

async fn what_says_something_else_from_the_same_moment_on_is_refused(url: &str) {
    let mut register = founded(url).await;
    let formed = register
        .record(BETWEEN, train("T 7", &[whole_unit()]))
        .await;
    let moved = register.record(BETWEEN, car("4101", "A", "South")).await;
    let joined = register.record(BETWEEN, unit(UNIT, &["4101"])).await;
    let otherwise = [
        (train("T 7", &[single("4103")]), formed),
        (car("4101", "A", "West"), moved),
        (unit(UNIT, &["4101", "4103"]), joined),
    ];
    for (fact, by) in &otherwise {
        let refusal = register.refuses(BETWEEN, fact.clone()).await;
        assert_eq!(contradicted(&refusal), *by, "{refusal}");
    }
    // So it is where something else holds since.
    register
        .record(LATER, train("T 7", &[single("4102")]))
        .await;
    register.record(LATER, car("4101", "A", "North")).await;
    register.record(LATER, unit(UNIT, &["4102"])).await;
    for (fact, by) in otherwise {
        let refusal = register.refuses(BETWEEN, fact).await;
        assert_eq!(contradicted(&refusal), by, "{refusal}");
    }
    register.proves().await;
}

async fn nothing_is_told_of_what_was_not_there(url: &str) {
    let mut register = founded(url).await;
    let valve = &fleet::components().valves[0];
    let facts = [
        train("T 7", &[whole_unit()]),
        train("T 7", &[single("4103")]),
        unit("42", &["4103"]),
        read("4101", 5),
        isolated(&position("4101", COCK)),
        fitted(valve, &position("4101", FIRST)),
    ];
    for fact in &facts[..5] {
        let refusal = register.refuses(EARLIER, fact.clone()).await;
        let told = refusal.to_string();
        assert!(told.contains("contradicts entry "), "{told}");
    }
    register.refuses(EARLIER, facts[5].clone()).await;
    // It was there earlier, which is told late.
    register.record(EARLIER, car("4101", "A", "West")).await;
    register.record("2028-12-02T00:00Z", read("4101", 5)).await;
    assert_eq!(depot(&register).await, fleet::DEPOT);
    register.record(SINCE, facts[0].clone()).await;
    register.proves().await;
}

async fn a_vehicle_number_is_of_one_car(url: &str) {
    let mut register = founded(url).await;
    let numbered = |fact: Fact| {
        let Fact::CarRegistered(mut car) = fact else {
            panic!("a car")
        };
        car.vehicle_number = Some("94 00 4000 774-9".parse().unwrap());
        Fact::CarRegistered(car)
    };
    let first = register
        .record(BETWEEN, numbered(car_of_fleet("4101")))
        .await;
    let refusal = register
        .refuses(LATER, numbered(car_of_fleet("4102")))
        .await;
    assert_eq!(refusal.field(), "vehicle_number");
    let says = format!("car 4101 bears it (by {first})");
    assert!(refusal.to_string().ends_with(&says), "{refusal}");
    // A car may change its depot with it, and lose it to another.
    register
        .record(LATER, numbered(car("4101", "A", "South")))
        .await;
    register
        .record("2029-03-02T00:00Z", car("4101", "A", "South"))
        .await;
    register
        .record("2029-03-02T00:00Z", numbered(car_of_fleet("4102")))
        .await;
    register.proves().await;
}

async fn a_formation_recorded_by_mistake_is_withdrawn(url: &str) {
    let mut register = founded(url).await;
    let first = register
        .record(BETWEEN, train("T 7", &[whole_unit()]))
        .await;
    let wrong = register
        .record(LATER, train("T 7", &[single("4103")]))
        .await;
    register.withdraw(wrong).await;
    assert_eq!(cars_of_train(&mut register).await, ["4101", "4102"]);
    let refusal = register.refuses_withdrawal(first).await;
    assert_eq!(refusal.field(), "corrects", "{refusal}");
    let wrong = register.record(LATER, unit(UNIT, &["4103"])).await;
    register.withdraw(wrong).await;
    assert_eq!(cars_of_train(&mut register).await, ["4101", "4102"]);
    assert_eq!(cars_of_unit(&register, LATER).await, ["4101", "4102"]);
    // What was withdrawn is no history either.
    register.record(BETWEEN, unit(UNIT, &["4102"])).await;
    let again = register.record(LATER, unit(UNIT, &["4101"])).await;
    register.record(LATER, unit("42", &["4102"])).await;
    let refusal = register.refuses_withdrawal(again).await;
    let told = refusal.to_string();
    assert!(told.contains("it is in unit 42"), "{told}");
    register
        .correct(again, LATER, unit(UNIT, &["4103", "4101"]))
        .await;
    assert_eq!(cars_of_train(&mut register).await, ["4103", "4101"]);
    let other = register
        .refuses_correction(first, BETWEEN, train("T 8", &[single("4103")]))
        .await;
    assert_eq!(other.field(), "corrects", "{other}");
    register
        .correct(first, SINCE, train("T 7", &[single("4102")]))
        .await;
    assert_eq!(cars_of_train(&mut register).await, ["4102"]);
    register.proves().await;
}

async fn an_import_whose_newest_comes_first_leaves_the_newest_standing(url: &str) {
    let mut register = founded(url).await;
    let facts = [
        (LATER, car("4101", "A", "South")),
        (BETWEEN, car("4101", "A", "West")),
        (LATER, unit(UNIT, &["4102", "4101"])),
        (BETWEEN, unit(UNIT, &["4101"])),
        (LATER, train("T 7", &[whole_unit()])),
        (BETWEEN, train("T 7", &[whole_unit(), single("4103")])),
    ];
    let commands = facts.map(|(since, fact)| ((), command(at(since), fact)));
    let machine = founder("machine".parse().unwrap());
    let imported = register
        .store
        .import(&machine, register.now, commands.into_iter(), &mut KeepAll)
        .await
        .unwrap();
    assert!(matches!(imported, Imported::Kept(_)));
    assert_eq!(depot(&register).await, "South");
    assert_eq!(cars_of_train(&mut register).await, ["4102", "4101"]);
    register.proves().await;
}

each_database!(
    a_train_told_of_late_stays_as_it_was_formed_last,
    a_new_train_told_of_late_does_not_take_cars_out_of_a_later_one,
    a_unit_told_of_late_is_seen_in_the_past_alone,
    a_car_told_of_late_stays_where_it_is,
    what_says_something_else_from_the_same_moment_on_is_refused,
    nothing_is_told_of_what_was_not_there,
    a_vehicle_number_is_of_one_car,
    a_formation_recorded_by_mistake_is_withdrawn,
    an_import_whose_newest_comes_first_leaves_the_newest_standing,
);
