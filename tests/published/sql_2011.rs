//! Application time and system time as in the standard SQL:2011 (source: two database textbooks
//! and a white paper on the standard): periods closed at the start and open at the end, keys
//! without overlaps, and questions asked as at one time as known at another. The example is
//! constructed.

use domain::configuration::component::ComponentRef;
use domain::refusal::Refusal;
use domain::time::Instant;
use store::read::AsAt;
use tests::each_database;
use tests::facts::{at, fitted, moved, position, removed};
use tests::fleet::{self, FIRST};
use tests::register::Register;

/// Serial A from 1 March, removed 10 June; on 1 July the removal is corrected to 8 June, and
/// serial B from 8 June is recorded.
struct Example {
    register: Register,
    a: ComponentRef,
    b: ComponentRef,
}

impl Example {
    async fn new(url: &str) -> Self {
        let mut register = Register::open(url).await;
        register.now_is("2024-01-01T06:00Z");
        let components = fleet::found(&mut register, "2024-01-01T00:00Z").await;
        let [a, b, ..] = &components.valves[..] else {
            unreachable!()
        };
        let here = position("4101", FIRST);
        register.now_is("2024-03-02T09:00Z");
        register.record("2024-03-01T00:00Z", fitted(a, &here)).await;
        register.now_is("2024-06-11T09:00Z");
        let removal = register.record("2024-06-10T00:00Z", removed(a)).await;
        register.now_is("2024-07-01T09:00Z");
        register
            .correct(removal, "2024-06-08T00:00Z", removed(a))
            .await;
        register.record("2024-06-08T00:00Z", fitted(b, &here)).await;
        Self {
            a: a.clone(),
            b: b.clone(),
            register,
        }
    }

    /// What was at the position at a time, as known at another, as pages ask.
    async fn asked(&self, effective: Instant, known: Instant) -> Option<ComponentRef> {
        let mut view = self.register.store.view().await.unwrap();
        let car = view.car(&"4101".parse().unwrap()).await.unwrap().unwrap();
        let fitted = view.fitted(&car, AsAt { effective, known }).await.unwrap();
        fitted.into_iter().next().map(|found| found.component)
    }

    /// The same, asked of the table: how many fitments of a component hold then.
    async fn counted(&mut self, of: &ComponentRef, effective: Instant, known: Instant) -> i64 {
        let tables = &mut self.register.tables;
        let (effective, known) = (tables.moment(effective), tables.moment(known));
        let statement = format!(
            "select count(*) from fitment join component on component.id = component_id
            where serial = '{}' and position = '{FIRST}'
            and from_at <= {effective} and (until_at is null or {effective} < until_at)
            and known_from <= {known} and (known_until is null or {known} < known_until)",
            of.serial
        );
        tables.number(&statement).await
    }

    /// The days from the beginning to the end of A's fitment, as known at a time.
    async fn days_of_a(&mut self, known: Instant) -> i64 {
        let tables = &mut self.register.tables;
        let known_then = tables.moment(known);
        let row = tables
            .texts(format!(
                "select cast(id as text) as id, cast({} as text) as days
                from fitment where removed_by is not null
                and known_from <= {known_then} and (known_until is null or {known_then} < known_until)",
                match tables.dialect() {
                    tests::tables::Dialect::Sqlite => "(until_at - from_at) / 86400000000",
                    tests::tables::Dialect::Postgres => "extract(day from until_at - from_at)",
                }
            ))
            .await;
        assert_eq!(row.len(), 1);
        row[0]["days"].as_deref().unwrap().parse().unwrap()
    }
}

async fn the_same_question_has_the_answer_of_the_time_at_which_it_is_asked(url: &str) {
    let mut example = Example::new(url).await;
    let (a, b) = (example.a.clone(), example.b.clone());
    let (in_june, now) = (at("2024-06-12T12:00Z"), at("2024-07-02T12:00Z"));
    for (effective, known, expected) in [
        ("2024-06-09T12:00Z", in_june, Some(&a)),
        ("2024-06-09T12:00Z", now, Some(&b)),
        // The period is open at its end.
        ("2024-06-10T00:00Z", in_june, None),
        ("2024-06-08T00:00Z", now, Some(&b)),
        ("2024-06-09T12:00Z", at("2024-03-01T12:00Z"), None),
        ("2024-03-01T12:00Z", at("2024-03-01T12:00Z"), None),
        ("2024-03-01T00:00Z", now, Some(&a)),
    ] {
        let effective = at(effective);
        let asked = example.asked(effective, known).await;
        assert_eq!(asked.as_ref(), expected, "at {effective}, known {known}");
        for component in [&a, &b] {
            let counted = example.counted(component, effective, known).await;
            assert_eq!(counted == 1, Some(component) == expected);
        }
    }
    example.register.proves().await;
}

async fn the_length_of_a_fitment_is_that_of_what_was_known(url: &str) {
    let mut example = Example::new(url).await;
    assert_eq!(example.days_of_a(at("2024-06-12T12:00Z")).await, 101);
    assert_eq!(example.days_of_a(at("2024-07-02T12:00Z")).await, 99);
}

/// A key without overlaps: two serials at one position, or one serial at two positions, at the
/// same application time.
async fn periods_of_one_position_and_of_one_serial_do_not_overlap(url: &str) {
    let mut example = Example::new(url).await;
    let (a, b) = (example.a.clone(), example.b.clone());
    let (here, there) = (position("4101", FIRST), position("4102", FIRST));
    let register = &mut example.register;
    register.now_is("2024-07-03T09:00Z");
    let third = fleet::components().valves[2].clone();
    let two_serials = register
        .refuses("2024-05-01T00:00Z", fitted(&third, &here))
        .await;
    let holds_a = matches!(&two_serials, Refusal::PositionTaken { holds, .. } if *holds == a);
    assert!(holds_a, "{two_serials}");
    let two_positions = register
        .refuses("2024-06-09T00:00Z", fitted(&b, &there))
        .await;
    let is_here = matches!(&two_positions, Refusal::FittedElsewhere { at, .. } if at.on_car().as_ref() == Some(&here));
    assert!(is_here, "{two_positions}");
    // Periods that meet do not overlap.
    register
        .record("2024-07-02T00:00Z", moved(&b, &there))
        .await;
    register
        .record("2024-07-02T00:00Z", fitted(&third, &here))
        .await;
    register.proves().await;
}

each_database!(
    the_same_question_has_the_answer_of_the_time_at_which_it_is_asked,
    the_length_of_a_fitment_is_that_of_what_was_known,
    periods_of_one_position_and_of_one_serial_do_not_overlap,
);
