//! A suspected component changes places with another, to see whether the fault goes with it: it is
//! to be judged where it then is, and goes nowhere else before.

use domain::configuration::component::{ComponentRef, Condition, RemovalReason};
use domain::ledger::fact::Fact;
use domain::ledger::suspected::suspected_at;
use domain::refusal::Refusal;
use tests::each_database;
use tests::facts::{fitted, judged, moved, position, swapped};
use tests::fleet::{self, FIRST, SECOND};
use tests::register::Register;

/// The first is suspected, and changes places with the second.
fn tried(first: &ComponentRef, second: &ComponentRef) -> Fact {
    match swapped(first, second) {
        Fact::Swapped { first, second, .. } => Fact::Swapped {
            first,
            second,
            reason: RemovalReason::Suspected,
            first_concession: None,
            second_concession: None,
        },
        other => other,
    }
}

/// The place where a component is suspected by what is known now.
async fn suspected(register: &Register, component: &ComponentRef) -> Option<String> {
    let life = register.life(component).await;
    let own = life.own_fitments();
    suspected_at(life.record.condition, &own).map(|own| own.at.to_string())
}

async fn unfit(register: &mut Register) -> i64 {
    let unfit = "select count(*) from departure where kind = 'unfit'";
    register.tables.number(unfit).await
}

async fn a_suspected_component_is_to_be_judged_where_it_was_swapped_to(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let [one, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    let (here, there) = (position("4101", FIRST), position("4102", FIRST));
    for (valve, at) in [(one, &here), (other, &there)] {
        register
            .record("2029-02-01T00:00Z", fitted(valve, at))
            .await;
    }
    let before = unfit(&mut register).await;
    let swap = register
        .record("2029-03-01T00:00Z", tried(one, other))
        .await;
    for (valve, at, condition, came_off) in [
        (
            one,
            &there,
            Condition::RemovedToBeJudged,
            RemovalReason::Suspected,
        ),
        (other, &here, Condition::Serviceable, RemovalReason::Access),
    ] {
        let life = register.life(valve).await;
        assert_eq!(life.record.condition, condition);
        let [was, is] = &life.fitments[..] else {
            panic!("{:?}", life.fitments)
        };
        assert_eq!((&is.at, is.end.as_ref()), (at, None));
        assert_eq!(was.end.as_ref().unwrap().reason, Some(came_off));
    }
    assert_eq!(suspected(&register, one).await, Some(here.to_string()));
    assert_eq!(suspected(&register, other).await, None);
    assert_eq!(unfit(&mut register).await, before + 1);
    // It goes nowhere before it is judged, and was not in doubt before it changed places.
    let away = moved(one, &position("4102", SECOND));
    let away = register.refuses("2029-03-02T00:00Z", away).await;
    assert!(matches!(away, Refusal::ConditionForbids { .. }), "{away}");
    let earlier = judged(one, Condition::Unserviceable);
    let earlier = register.refuses("2029-02-15T00:00Z", earlier).await;
    assert!(
        matches!(earlier, Refusal::Contradicts { by, .. } if by == swap),
        "{earlier}"
    );
    let sound = judged(one, Condition::Serviceable);
    let sound = register.record("2029-03-03T00:00Z", sound).await;
    assert_eq!(suspected(&register, one).await, None);
    assert_eq!(unfit(&mut register).await, before);
    register.proves().await;

    register.withdraw(sound).await;
    assert_eq!(suspected(&register, one).await, Some(here.to_string()));
    register.withdraw(swap).await;
    let life = register.life(one).await;
    assert_eq!(life.record.condition, Condition::Serviceable);
    assert_eq!(life.fitments.len(), 1);
    assert_eq!(unfit(&mut register).await, before);
    register.proves().await;
}

each_database!(a_suspected_component_is_to_be_judged_where_it_was_swapped_to);
