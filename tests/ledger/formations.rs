//! Units and the trains made of them.

use domain::configuration::car::{Orientation, Train, Vehicle};
use domain::ledger::fact::Fact;
use domain::refusal::Refusal;
use tests::each_database;
use tests::facts::{isolated, position, unit};
use tests::fleet::{self, COCK, UNIT};
use tests::register::Register;

async fn founded(url: &str) -> Register {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    register
}

fn train(name: &str, vehicles: Vec<Vehicle>) -> Fact {
    Fact::TrainFormed(Train {
        id: name.parse().unwrap(),
        vehicles,
    })
}

fn unit_reversed() -> Vehicle {
    Vehicle::Unit(UNIT.parse().unwrap(), Orientation::Reversed)
}

fn single(car: &str) -> Vehicle {
    Vehicle::Car(car.parse().unwrap(), Orientation::Forward)
}

/// The cars of the only train, as the board finds them.
async fn cars_of_train(register: &mut Register) -> Vec<(i64, String, String)> {
    let rows = register.tables.rows("train_car").await;
    let value = |row: &tests::tables::Row, column| row[column].clone().unwrap();
    let place = |row: &_| value(row, "place").parse().unwrap();
    let car = |row: &_| {
        (
            place(row),
            value(row, "car_number"),
            value(row, "orientation"),
        )
    };
    let mut cars: Vec<_> = rows.iter().map(car).collect();
    cars.sort();
    cars
}

fn expected(cars: &[(&str, &str)]) -> Vec<(i64, String, String)> {
    let car = |(place, (car, orientation)): (i64, &(&str, &str))| {
        (place, (*car).to_owned(), (*orientation).to_owned())
    };
    (1..).zip(cars).map(car).collect()
}

async fn a_train_is_made_of_its_units_as_they_are_formed_now(url: &str) {
    let mut register = founded(url).await;
    register
        .record("2029-02-01T00:00Z", train("T 7", vec![unit_reversed()]))
        .await;
    let before = expected(&[("4102", "reversed"), ("4101", "reversed")]);
    assert_eq!(cars_of_train(&mut register).await, before);
    register
        .record("2029-03-01T00:00Z", unit(UNIT, &["4101", "4103"]))
        .await;
    let after = expected(&[("4103", "reversed"), ("4101", "reversed")]);
    assert_eq!(cars_of_train(&mut register).await, after);
    // So a cut-out on the new car is found in that train.
    register
        .record("2029-03-02T00:00Z", isolated(&position("4103", COCK)))
        .await;
    let board = register
        .store
        .view()
        .await
        .unwrap()
        .isolations_in_force()
        .await
        .unwrap();
    assert_eq!(board[0].train, Some("T 7".parse().unwrap()));
    register.proves().await;
}

async fn a_car_is_in_one_unit_and_once_in_a_train(url: &str) {
    let mut register = founded(url).await;
    let in_another = register
        .refuses("2029-02-01T00:00Z", unit("42", &["4101"]))
        .await;
    assert!(
        in_another.to_string().contains("it is in unit 41"),
        "{in_another}"
    );
    let twice = register
        .refuses("2029-02-01T00:00Z", unit("42", &["4103", "4103"]))
        .await;
    assert!(
        matches!(twice, Refusal::Impossible { field: "car", .. }),
        "{twice}"
    );
    let empty = register.refuses("2029-02-01T00:00Z", unit("42", &[])).await;
    assert!(
        matches!(empty, Refusal::Impossible { field: "place", .. }),
        "{empty}"
    );
    let with_its_unit = train("T 7", vec![unit_reversed(), single("4102")]);
    let with_its_unit = register.refuses("2029-02-01T00:00Z", with_its_unit).await;
    assert!(
        matches!(with_its_unit, Refusal::Impossible { field: "car", .. }),
        "{with_its_unit}"
    );
    register
        .record(
            "2029-02-01T00:00Z",
            train("T 7", vec![unit_reversed(), single("4103")]),
        )
        .await;
    // A train formed anew keeps its name and nothing else.
    register
        .record("2029-02-02T00:00Z", train("T 7", vec![single("4103")]))
        .await;
    assert_eq!(
        cars_of_train(&mut register).await,
        expected(&[("4103", "forward")])
    );
    register.proves().await;
}

each_database!(
    a_train_is_made_of_its_units_as_they_are_formed_now,
    a_car_is_in_one_unit_and_once_in_a_train,
);
