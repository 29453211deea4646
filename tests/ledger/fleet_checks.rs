//! Checks of the fleet on both databases: opened for some cars, answered car by car, closed by
//! the last answer and by nothing else, unless more cars carry by then what is looked for.

use domain::configuration::fleet_check::{
    CARS_MAX, CarAnswer, CheckAnswer, EarlierAnswer, FleetCheck,
};
use domain::configuration::looked_for::LookedFor;
use domain::ledger::consequences::{Doubt, DoubtKind};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::record::founder;
use domain::people::Role;
use domain::refusal::Refusal;
use std::collections::BTreeSet;
use store::Recorded;
use store::read::AsAt;
use tests::each_database;
use tests::facts::{at, fitted, moved, position};
use tests::fleet::{self, FIRST};
use tests::register::{Register, command, person};

const SINCE: &str = "2029-01-01T00:00Z";
const OPENED: &str = "2029-03-01T08:00Z";
const LATER: &str = "2029-03-02T08:00Z";

/// A check of some cars was opened.
pub(super) fn opened(cars: &[&str]) -> Fact {
    Fact::FleetCheckOpened(Box::new(FleetCheck {
        title: "cracked seats of distributor valves".to_owned(),
        instruction: "look at the seat; quarantine the valve where it is cracked".to_owned(),
        looked_for: "part DV/210, serial numbers that begin with 4".to_owned(),
        sought: None,
        cars: cars.iter().map(|car| car.parse().unwrap()).collect(),
        answer_by: "2029-03-08".parse().unwrap(),
        answered: Vec::new(),
    }))
}

/// A car answered a check.
pub(super) fn answered(check: Seq, car: &str, answer: CarAnswer) -> Fact {
    Fact::FleetCheckAnswered(CheckAnswer {
        asked_too: BTreeSet::new(),
        check,
        car: car.parse().unwrap(),
        answer,
        remark: match answer {
            CarAnswer::Defective => "crack of 4 mm, valve quarantined".to_owned(),
            CarAnswer::Sound | CarAnswer::NotCarried => String::new(),
        },
    })
}

async fn founded(url: &str) -> Register {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    register
}

async fn unanswered(register: &Register, check: Seq) -> (u32, bool) {
    let mut view = register.store.view().await.unwrap();
    let listed = view.fleet_check(check).await.unwrap().unwrap();
    let open = view.fleet_checks_open().await.unwrap();
    let is_open = open.iter().any(|one| one.record.id == check);
    assert_ne!(is_open, listed.record.closed.is_some());
    (listed.record.unanswered, is_open)
}

async fn a_check_is_closed_when_each_car_has_answered_and_not_before(url: &str) {
    let mut register = founded(url).await;
    let cars = ["4101", "4102", "4103"];
    let check = register.record(OPENED, opened(&cars)).await;
    assert_eq!(unanswered(&register, check).await, (3, true));
    let sound = answered(check, "4101", CarAnswer::Sound);
    register.record(LATER, sound).await;
    let first = answered(check, "4102", CarAnswer::NotCarried);
    register.record(LATER, first).await;
    // What was overlooked is told: it is still one car.
    let again = answered(check, "4102", CarAnswer::Defective);
    let again = register.record(LATER, again).await;
    assert_eq!(unanswered(&register, check).await, (1, true));
    let last = answered(check, "4103", CarAnswer::Sound);
    let last = register.record(LATER, last).await;
    assert_eq!(unanswered(&register, check).await, (0, false));
    let mut view = register.store.view().await.unwrap();
    let listed = view.fleet_checks_closed(None).await.unwrap();
    assert_eq!(listed[0].record.closed, Some((at(LATER), last)));
    let told = view.fleet_check_cars(check, (None, 10)).await.unwrap();
    let answers = told.iter().map(|row| row.answer.as_ref().unwrap());
    let answers: Vec<_> = answers
        .map(|one| (one.answer, one.entry == again))
        .collect();
    let sound = (CarAnswer::Sound, false);
    assert_eq!(answers, [sound, (CarAnswer::Defective, true), sound]);
    drop(view);
    register.proves().await;
}

async fn a_check_asks_cars_that_there_are_until_a_day_to_come(url: &str) {
    let mut register = founded(url).await;
    let unknown = register.refuses(OPENED, opened(&["4101", "9999"])).await;
    assert!(matches!(unknown, Refusal::Unknown { .. }), "{unknown}");
    let none = register.refuses(OPENED, opened(&[])).await;
    assert!(none.to_string().contains("at least one car"), "{none}");
    let names: Vec<String> = (0..=CARS_MAX)
        .map(|car| format!("{}", 10_000 + car))
        .collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let many = register.refuses(OPENED, opened(&names)).await;
    assert!(many.to_string().contains("at most 5000"), "{many}");
    let late = register
        .refuses("2029-03-09T08:00Z", opened(&["4101"]))
        .await;
    assert!(late.to_string().contains("2029-03-09"), "{late}");
}

async fn only_a_car_that_is_asked_answers_and_a_defect_is_described(url: &str) {
    let mut register = founded(url).await;
    let check = register.record(OPENED, opened(&["4101"])).await;
    let other = answered(check, "4102", CarAnswer::Sound);
    let other = register.refuses(LATER, other).await;
    assert!(matches!(other, Refusal::Unknown { .. }), "{other}");
    let unknown = answered(Seq(1), "4101", CarAnswer::Sound);
    let unknown = register.refuses(LATER, unknown).await;
    assert!(matches!(unknown, Refusal::Unknown { .. }), "{unknown}");
    let silent = Fact::FleetCheckAnswered(CheckAnswer {
        asked_too: BTreeSet::new(),
        check,
        car: "4101".parse().unwrap(),
        answer: CarAnswer::Defective,
        remark: " ".to_owned(),
    });
    let silent = register.refuses(LATER, silent).await;
    assert!(silent.to_string().contains("remark"), "{silent}");
    let early = answered(check, "4101", CarAnswer::Sound);
    let early = register.refuses("2029-02-28T08:00Z", early).await;
    assert!(
        matches!(early, Refusal::Contradicts { by, .. } if by == check),
        "{early}"
    );
    assert_eq!(unanswered(&register, check).await, (1, true));
}

async fn a_planner_opens_it_and_a_controller_does_not(url: &str) {
    let mut register = founded(url).await;
    let by_controller = command(at(OPENED), opened(&["4101"]));
    let refused = register
        .refuses_of(person(Role::Controller), by_controller)
        .await;
    assert!(matches!(refused, Refusal::NotPermitted { .. }), "{refused}");
    let by_planner = command(at(OPENED), opened(&["4101"]));
    let kept = register.send(person(Role::Planner), by_planner).await;
    assert!(kept.is_ok(), "{kept:?}");
}

/// The same check, of which a car had answered elsewhere.
fn opened_with(cars: &[&str], car: &str, at: &str) -> Fact {
    let Fact::FleetCheckOpened(mut check) = opened(cars) else {
        panic!("a check")
    };
    check.answered.push(EarlierAnswer {
        car: car.parse().unwrap(),
        answer: CarAnswer::Sound,
        remark: String::new(),
        by: "A. Tester".parse().unwrap(),
        at: at.parse().unwrap(),
    });
    Fact::FleetCheckOpened(check)
}

async fn what_cars_had_answered_comes_in_with_a_check_and_in_no_other_way(url: &str) {
    let mut register = founded(url).await;
    let two = opened_with(&["4101", "4102"], "4101", LATER);
    let refused = register.refuses(OPENED, two.clone()).await;
    assert_eq!(refused.field(), "answered", "{refused}");
    let check = register.bring(OPENED, two).await;
    assert_eq!(unanswered(&register, check).await, (1, true));
    let last = answered(check, "4102", CarAnswer::Sound);
    register.record("2029-03-03T08:00Z", last).await;
    assert_eq!(unanswered(&register, check).await, (0, false));
    let all = opened_with(&["4103"], "4103", LATER);
    let all = register.bring(OPENED, all).await;
    assert_eq!(unanswered(&register, all).await, (0, false));
    let machine = founder("machine".parse().unwrap());
    for (cars, car, when) in [
        ("4101", "4102", LATER),
        ("4101", "4101", "2029-02-28T08:00Z"),
        ("4101", "4101", "2031-01-01T08:00Z"),
    ] {
        let wrong = command(at(OPENED), opened_with(&[cars], car, when));
        let refused = register.refuses_of(machine.clone(), wrong).await;
        assert_eq!(refused.field(), "answered", "{refused}");
    }
    register.proves().await;
}

async fn a_car_found_defective_stands_so_until_it_answers_otherwise(url: &str) {
    let mut register = founded(url).await;
    let check = register.record(OPENED, opened(&["4101"])).await;
    let found = answered(check, "4101", CarAnswer::Defective);
    register.record(LATER, found).await;
    let standing = async |register: &Register| {
        let mut view = register.store.view().await.unwrap();
        let car = view.car(&"4101".parse().unwrap()).await.unwrap().unwrap();
        let listed = view.fleet_checks_closed(None).await.unwrap();
        let asked = view.fleet_checks_of_car(car.id).await.unwrap();
        (listed[0].defective, asked.len())
    };
    assert_eq!(
        standing(&register).await,
        (1, 1),
        "closed, and not done with"
    );
    let done = answered(check, "4101", CarAnswer::Sound);
    register.record(LATER, done).await;
    assert_eq!(standing(&register).await, (0, 0));
    register.proves().await;
}

/// The same check with its question.
fn opened_for(cars: &[&str], part: &str, begins: &str) -> Fact {
    let Fact::FleetCheckOpened(check) = opened(cars) else {
        panic!("a check")
    };
    Fact::FleetCheckOpened(Box::new(FleetCheck {
        sought: Some(LookedFor::Serials {
            part: part.parse().unwrap(),
            begins: begins.to_owned(),
        }),
        ..*check
    }))
}

/// The cars that carry what a check looks for now and were not looked at.
async fn left(register: &Register, check: Seq) -> Vec<String> {
    let mut view = register.store.view().await.unwrap();
    let listed = view.fleet_check(check).await.unwrap().unwrap();
    let as_at = AsAt {
        effective: register.now,
        known: register.now,
    };
    let now = view.fleet_check_now(&listed, as_at).await.unwrap();
    let cars = now
        .into_iter()
        .flat_map(|now| now.not_looked_at.into_keys());
    cars.map(|car| car.to_string()).collect()
}

async fn what_is_fitted_later_and_looked_for_keeps_the_check_open(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, SINCE).await;
    let [one, other, ..] = &components.valves[..] else {
        panic!("two valves")
    };
    let first = fitted(one, &position("4101", FIRST));
    register.record(SINCE, first).await;
    let check = opened_for(&["4101", "4102"], fleet::VALVE, "");
    let check = register.record(OPENED, check).await;
    assert!(
        left(&register, check).await.is_empty(),
        "4102 has yet to answer"
    );
    let none = answered(check, "4102", CarAnswer::NotCarried);
    register.record(LATER, none).await;
    // One goes on a car that was not asked, another on one that had answered that it carries none.
    for (valve, car) in [(one, "4103"), (other, "4102")] {
        let fact = match car {
            "4103" => moved(valve, &position(car, FIRST)),
            _ => fitted(valve, &position(car, FIRST)),
        };
        let entry = register.record(LATER, fact).await;
        let mut view = register.store.view().await.unwrap();
        let kept = view.entry(entry).await.unwrap().unwrap().entry;
        let told = kept.consequences.expect("a doubt");
        let expected = Doubt {
            component: valve.clone(),
            why: DoubtKind::LookedFor(check),
        };
        assert_eq!(told.doubts, [expected]);
    }
    // Both are asked by the last answer, and keep the check open.
    let last = answered(check, "4101", CarAnswer::NotCarried);
    let last = command(at(LATER), last);
    let kept = register.kept(last.clone()).await;
    let Fact::FleetCheckAnswered(answer) = &kept.fact else {
        panic!("an answer")
    };
    let asked_too = answer.asked_too.iter().map(ToString::to_string);
    assert_eq!(asked_too.collect::<Vec<_>>(), ["4102", "4103"]);
    assert!(
        left(&register, check).await.is_empty(),
        "they have yet to answer"
    );
    assert_eq!(unanswered(&register, check).await, (2, true));
    let repeated = register.send(person(Role::BrakeEngineer), last).await;
    assert!(
        matches!(repeated, Ok(Recorded::Before(seq)) if seq == kept.seq),
        "{repeated:?}"
    );
    let claimed = Fact::FleetCheckAnswered(answer.clone());
    let claimed = register.refuses(LATER, claimed).await;
    assert_eq!(claimed.field(), "asked_too", "{claimed}");
    register.proves().await;
    for (car, still_open) in [("4102", (1, true)), ("4103", (0, false))] {
        let sound = answered(check, car, CarAnswer::Sound);
        register.record("2029-03-04T08:00Z", sound).await;
        assert_eq!(unanswered(&register, check).await, still_open, "{car}");
    }
    let mut view = register.store.view().await.unwrap();
    let closed = view.fleet_check(check).await.unwrap().unwrap();
    assert_eq!(closed.cars, 3, "the car that was asked later is counted");
    drop(view);
    register.proves().await;
}

each_database!(
    a_car_found_defective_stands_so_until_it_answers_otherwise,
    what_is_fitted_later_and_looked_for_keeps_the_check_open,
    what_cars_had_answered_comes_in_with_a_check_and_in_no_other_way,
    a_check_is_closed_when_each_car_has_answered_and_not_before,
    a_check_asks_cars_that_there_are_until_a_day_to_come,
    only_a_car_that_is_asked_answers_and_a_defect_is_described,
    a_planner_opens_it_and_a_controller_does_not,
);
