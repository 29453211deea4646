//! To rob one car for another is one entry with both sides. Only history that is brought in may not
//! know the other side; the life of the component then says so.

use domain::configuration::component::{ComponentRef, RemovalReason};
use domain::ledger::command::Command;
use domain::ledger::fact::{Fact, Fitting};
use domain::ledger::life::{Lacking, Line, life};
use domain::refusal::Refusal;
use domain::time::Zone;
use tests::each_database;
use tests::facts::{at, fitted, fitted_until, moved, position, removed};
use tests::fleet::{self, FIRST};
use tests::register::{Register, command};

fn robbed(mut fact: Fact) -> Fact {
    match &mut fact {
        Fact::Removed { removal, .. } => removal.reason = RemovalReason::Robbed,
        Fact::Fitted(Fitting {
            ended: Some(ended), ..
        }) => ended.removal.reason = RemovalReason::Robbed,
        other => panic!("{other:?}"),
    }
    fact
}

/// The gaps for which it is not told which car was helped: from when and until when.
async fn other_sides(register: &Register, of: &ComponentRef) -> Vec<(String, Option<String>)> {
    let found = register.life(of).await;
    let mut view = register.store.view().await.unwrap();
    let entries = view.entries_of(&found.record).await.unwrap();
    let inside = found.surroundings.history.as_slice();
    let known = (&found.record, found.fitments.as_slice(), inside);
    let lines = life(known, entries, (&[], &[]), &Zone::UTC).into_iter();
    let gaps = lines.filter_map(|line| match line {
        Line::Gap(gap) => matches!(gap.lacking[..], [Lacking::OtherSide(_)]).then_some(gap),
        Line::Entry(_) | Line::CameOff(_) => None,
    });
    gaps.map(|gap| {
        (
            gap.from.unwrap().to_string(),
            gap.until.map(|day| day.to_string()),
        )
    })
    .collect()
}

async fn a_robbed_component_goes_straight_to_the_other_car(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let valve = &components.valves[0];
    let here = position("4101", FIRST);
    register
        .record("2029-02-01T00:00Z", fitted(valve, &here))
        .await;
    let until = fitted_until(
        &components.valves[1],
        &position("4102", FIRST),
        at("2029-02-02T00:00Z"),
    );
    for one_side in [robbed(removed(valve)), robbed(until)] {
        let refusal = register.refuses("2029-02-01T12:00Z", one_side).await;
        assert!(
            matches!(
                refusal,
                Refusal::Impossible {
                    field: "reason",
                    ..
                }
            ),
            "{refusal}"
        );
        assert!(refusal.to_string().contains("both sides"), "{refusal}");
    }
    // The move says both and why, and leaves no gap.
    let moved = moved(valve, &position("4102", FIRST));
    let Fact::Moved {
        component,
        to,
        concession,
        ..
    } = moved
    else {
        panic!("a move")
    };
    let to_another_car = Fact::Moved {
        component,
        to,
        concession,
        reason: RemovalReason::Robbed,
    };
    let silent = register
        .refuses("2029-03-01T00:00Z", to_another_car.clone())
        .await;
    assert_eq!(silent.field(), "reason", "{silent}");
    let because = Command {
        reason: "4102 is needed for the first train".to_owned(),
        ..command(at("2029-03-01T00:00Z"), to_another_car)
    };
    register.kept(because).await;
    assert_eq!(other_sides(&register, valve).await, []);
    register.proves().await;
}

async fn history_that_does_not_name_the_helped_car_has_a_gap(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let valve = &components.valves[0];
    let until = fitted_until(valve, &position("4101", FIRST), at("2029-03-01T00:00Z"));
    register.bring("2029-02-01T00:00Z", robbed(until)).await;
    let open = [("2029-03-01".to_owned(), None)];
    assert_eq!(other_sides(&register, valve).await, open);
    register
        .record("2029-03-02T00:00Z", fitted(valve, &position("4102", FIRST)))
        .await;
    let closed = [("2029-03-01".to_owned(), Some("2029-03-02".to_owned()))];
    assert_eq!(other_sides(&register, valve).await, closed);
    register.proves().await;
}

each_database!(
    a_robbed_component_goes_straight_to_the_other_car,
    history_that_does_not_name_the_helped_car_has_a_gap,
);
