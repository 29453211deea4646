//! Fitting, removing, moving and swapping: a component is in one place, and a position holds one
//! component.

use domain::configuration::component::{Condition, PositionRef, RemovalReason};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::refusal::Refusal;
use tests::each_database;
use tests::facts::{
    at, fitted, fitted_until, judged, moved, position, relocated, removed, removed_as, swapped,
};
use tests::fleet::{self, Components, FIRST, RELAY, SECOND};
use tests::register::Register;

const FOUNDED: &str = "2029-01-01T00:00Z";

async fn founded(url: &str) -> (Register, Components) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, FOUNDED).await;
    (register, components)
}

/// Fitments that are open by what is known now.
async fn open_fitments(register: &mut Register) -> i64 {
    let open = "select count(*) from fitment where until_at is null and known_until is null";
    register.tables.number(open).await
}

async fn a_component_is_in_one_place(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, ..] = &components.valves[..] else {
        unreachable!()
    };
    let (first, second) = (position("4101", FIRST), position("4102", FIRST));
    let by = register
        .record("2029-02-01T00:00Z", fitted(one, &first))
        .await;
    let elsewhere = Refusal::FittedElsewhere {
        component: one.clone(),
        at: first.clone().into(),
        by,
    };
    let again = register
        .refuses("2029-03-01T00:00Z", fitted(one, &second))
        .await;
    assert_eq!(again, elsewhere);
    let into_store = register
        .refuses("2029-03-01T00:00Z", relocated(one, "Shelf 3"))
        .await;
    assert_eq!(into_store, elsewhere);
    // It could have been elsewhere before, for a while that ends in time.
    let too_long = fitted_until(one, &second, at("2029-02-01T00:01Z"));
    assert_eq!(
        register.refuses("2029-01-15T00:00Z", too_long).await,
        elsewhere
    );
    let in_time = fitted_until(one, &second, at("2029-02-01T00:00Z"));
    register.record("2029-01-15T00:00Z", in_time).await;
    register.proves().await;
}

async fn a_position_holds_one_component(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, other, third, ..] = &components.valves[..] else {
        unreachable!()
    };
    let (here, there) = (position("4101", FIRST), position("4102", FIRST));
    let by = register
        .record("2029-02-01T00:00Z", fitted(one, &here))
        .await;
    register
        .record("2029-02-01T00:00Z", fitted(third, &there))
        .await;
    let taken = |holds: &_, by: Seq, position: &PositionRef| Refusal::PositionTaken {
        position: position.clone().into(),
        holds: Clone::clone(holds),
        by,
    };
    let second = register
        .refuses("2029-03-01T00:00Z", fitted(other, &here))
        .await;
    assert_eq!(second, taken(one, by, &here));
    let moved_there = register
        .refuses("2029-03-01T00:00Z", moved(third, &here))
        .await;
    assert_eq!(moved_there, taken(one, by, &here));
    let before = register
        .refuses("2029-01-15T00:00Z", fitted(other, &here))
        .await;
    assert_eq!(before, taken(one, by, &here));
    assert_eq!(open_fitments(&mut register).await, 2);
    register.proves().await;
}

async fn what_was_removed_leaves_its_place_at_that_moment(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    let here = position("4101", FIRST);
    let fit = register
        .record("2029-02-01T00:00Z", fitted(one, &here))
        .await;
    let too_early = register.refuses("2029-02-01T00:00Z", removed(one)).await;
    assert!(
        matches!(too_early, Refusal::Contradicts { by, .. } if by == fit),
        "{too_early}"
    );
    register.record("2029-03-01T00:00Z", removed(one)).await;
    // The period is open at its end, so the next one may begin in the same moment.
    let overlapping = register
        .refuses("2029-02-28T23:59Z", fitted(other, &here))
        .await;
    assert!(matches!(overlapping, Refusal::PositionTaken { by, .. } if by == fit));
    register
        .record("2029-03-01T00:00Z", fitted(other, &here))
        .await;
    let not_fitted = register.refuses("2029-03-02T00:00Z", removed(one)).await;
    assert_eq!(
        not_fitted,
        Refusal::NotFitted {
            component: one.clone()
        }
    );
    register.proves().await;
}

async fn a_move_and_a_swap_have_both_sides_in_one_entry(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    let (a, b, c) = (
        position("4101", FIRST),
        position("4102", FIRST),
        position("4103", SECOND),
    );
    register.record("2029-02-01T00:00Z", fitted(one, &a)).await;
    register
        .record("2029-02-01T00:00Z", fitted(other, &b))
        .await;
    let swap = register
        .record("2029-03-01T00:00Z", swapped(one, other))
        .await;
    let shift = register.record("2029-04-01T00:00Z", moved(one, &c)).await;
    let ended = format!(
        "select count(*) from fitment where known_until is null and removed_by = {}",
        swap.0
    );
    assert_eq!(register.tables.number(&ended).await, 2);
    let robbed = register.refuses("2029-05-01T00:00Z", fitted(one, &b)).await;
    let elsewhere = Refusal::FittedElsewhere {
        component: one.clone(),
        at: c.clone().into(),
        by: shift,
    };
    assert_eq!(robbed, elsewhere);
    let holds = register.refuses("2029-05-01T00:00Z", moved(one, &a)).await;
    assert!(
        matches!(holds, Refusal::PositionTaken { by, .. } if by == swap),
        "{holds}"
    );
    assert_eq!(open_fitments(&mut register).await, 2);
    register.proves().await;
}

async fn what_is_in_doubt_is_judged_before_it_goes_to_another_position(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    for (valve, place) in [(one, FIRST), (other, SECOND)] {
        let fact = fitted(valve, &position("4101", place));
        register.record("2029-02-01T00:00Z", fact).await;
    }
    for reason in RemovalReason::ALL {
        let mut swap = swapped(one, other);
        let mut go = moved(one, &position("4102", FIRST));
        if let Fact::Swapped { reason: why, .. } = &mut swap {
            *why = *reason;
        }
        if let Fact::Moved { reason: why, .. } = &mut go {
            *why = *reason;
        }
        if reason.leaves_serviceable() {
            continue;
        }
        // A suspected one may change places with another, to see whether the fault goes with it.
        let tried = *reason == RemovalReason::Suspected;
        for fact in std::iter::once(go).chain((!tried).then_some(swap)) {
            let refusal = register.refuses("2029-03-01T00:00Z", fact).await;
            let Refusal::Impossible { field, allowed, .. } = refusal else {
                panic!("{refusal:?}");
            };
            assert_eq!(field, "reason");
            assert!(allowed.starts_with("a removal"), "{allowed}");
        }
    }
    register.proves().await;
}

async fn a_move_needs_a_component_that_is_fitted_and_another_place(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    let (a, b) = (position("4101", FIRST), position("4102", FIRST));
    let in_store = register.refuses("2029-02-01T00:00Z", moved(one, &a)).await;
    assert_eq!(
        in_store,
        Refusal::NotFitted {
            component: one.clone()
        }
    );
    register.record("2029-02-01T00:00Z", fitted(one, &a)).await;
    let same_place = register.refuses("2029-03-01T00:00Z", moved(one, &a)).await;
    assert!(matches!(same_place, Refusal::PositionTaken { .. }));
    let with_itself = register
        .refuses("2029-03-01T00:00Z", swapped(one, one))
        .await;
    assert!(matches!(
        with_itself,
        Refusal::Impossible {
            field: "serial",
            ..
        }
    ));
    let with_store = register
        .refuses("2029-03-01T00:00Z", swapped(one, other))
        .await;
    assert_eq!(
        with_store,
        Refusal::NotFitted {
            component: other.clone()
        }
    );
    register.record("2029-03-01T00:00Z", moved(one, &b)).await;
}

async fn only_approved_parts_are_fitted_moved_or_swapped(url: &str) {
    let (mut register, components) = founded(url).await;
    let (valve, later) = (&components.valves[0], &components.later);
    let second = position("4101", SECOND);
    let refused = register
        .refuses("2029-02-01T00:00Z", fitted(later, &second))
        .await;
    let not_approved = Refusal::NotApproved {
        part: later.part.clone(),
        position: second.clone().into(),
        approved: "DV-210".to_owned(),
    };
    assert_eq!(refused, not_approved);
    register
        .record("2029-02-01T00:00Z", fitted(later, &position("4101", FIRST)))
        .await;
    register
        .record("2029-02-01T00:00Z", fitted(valve, &second))
        .await;
    let by_swap = register
        .refuses("2029-03-01T00:00Z", swapped(valve, later))
        .await;
    assert_eq!(by_swap, not_approved);
    let by_move = register
        .refuses("2029-03-01T00:00Z", moved(valve, &position("4103", RELAY)))
        .await;
    assert!(matches!(by_move, Refusal::NotApproved { .. }), "{by_move}");
    let nowhere = position("4101", "=BS-X9");
    let unknown = register
        .refuses("2029-03-01T00:00Z", moved(valve, &nowhere))
        .await;
    assert!(
        matches!(
            unknown,
            Refusal::Unknown {
                what: "position",
                ..
            }
        ),
        "{unknown}"
    );
}

async fn only_serviceable_components_come_to_a_position(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, other, third, ..] = &components.valves[..] else {
        unreachable!()
    };
    let (a, b) = (position("4101", FIRST), position("4102", FIRST));
    register.record("2029-02-01T00:00Z", fitted(one, &a)).await;
    register.record("2029-03-01T00:00Z", removed(one)).await;
    let forbids = |component: &_, condition| Refusal::ConditionForbids {
        component: Clone::clone(component),
        condition,
        allowed: "only a serviceable component is fitted; judge it on evidence first",
    };
    let unjudged = register.refuses("2029-04-01T00:00Z", fitted(one, &a)).await;
    assert_eq!(unjudged, forbids(one, Condition::RemovedToBeJudged));
    register
        .record("2029-04-01T00:00Z", judged(one, Condition::Serviceable))
        .await;
    register.record("2029-04-02T00:00Z", fitted(one, &a)).await;
    // What is found unfit where it stands goes to no other position.
    register
        .record("2029-04-02T00:00Z", fitted(other, &b))
        .await;
    register
        .record("2029-05-01T00:00Z", judged(other, Condition::Quarantined))
        .await;
    let to_another = register
        .refuses("2029-05-02T00:00Z", moved(other, &position("4103", FIRST)))
        .await;
    assert_eq!(to_another, forbids(other, Condition::Quarantined));
    let in_exchange = register
        .refuses("2029-05-02T00:00Z", swapped(one, other))
        .await;
    assert_eq!(in_exchange, forbids(other, Condition::Quarantined));
    register
        .record("2029-05-01T00:00Z", judged(third, Condition::Scrapped))
        .await;
    let scrapped = register
        .refuses("2029-05-02T00:00Z", fitted(third, &position("4103", FIRST)))
        .await;
    assert_eq!(scrapped, forbids(third, Condition::Scrapped));
    register
        .record(
            "2029-05-02T00:00Z",
            removed_as(other, Condition::Quarantined),
        )
        .await;
    register.proves().await;
}

async fn nothing_is_fitted_before_it_came_or_after_now(url: &str) {
    let (mut register, components) = founded(url).await;
    let one = &components.valves[0];
    let here = position("4101", FIRST);
    let early = register
        .refuses("2028-12-31T23:59Z", fitted(one, &here))
        .await;
    assert!(
        matches!(&early, Refusal::Contradicts { since, .. } if since.at == at(FOUNDED)),
        "{early}"
    );
    let late = register
        .refuses("2031-01-01T00:00Z", fitted(one, &here))
        .await;
    assert!(
        matches!(late, Refusal::Impossible { field: "at", .. }),
        "{late}"
    );
    let until_later = fitted_until(one, &here, at("2031-01-01T00:00Z"));
    let ends_late = register.refuses("2029-02-01T00:00Z", until_later).await;
    assert!(
        matches!(ends_late, Refusal::Impossible { field: "until", .. }),
        "{ends_late}"
    );
    let backwards = fitted_until(one, &here, at("2029-02-01T00:00Z"));
    let ends_early = register.refuses("2029-02-01T00:00Z", backwards).await;
    assert!(
        matches!(ends_early, Refusal::Impossible { field: "until", .. }),
        "{ends_early}"
    );
}

async fn a_component_in_store_is_not_fitted_before_it_came_there(url: &str) {
    let (mut register, components) = founded(url).await;
    let one = &components.valves[0];
    let here = position("4101", FIRST);
    let shelf = register
        .record("2029-03-01T00:00Z", relocated(one, "Shelf 3"))
        .await;
    let early = register
        .refuses("2029-02-01T00:00Z", fitted(one, &here))
        .await;
    assert!(
        matches!(early, Refusal::Contradicts { by, .. } if by == shelf),
        "{early}"
    );
    register
        .record("2029-03-01T00:00Z", fitted(one, &here))
        .await;
    register.proves().await;
}

each_database!(
    a_component_is_in_one_place,
    a_position_holds_one_component,
    what_was_removed_leaves_its_place_at_that_moment,
    a_move_and_a_swap_have_both_sides_in_one_entry,
    what_is_in_doubt_is_judged_before_it_goes_to_another_position,
    a_move_needs_a_component_that_is_fitted_and_another_place,
    only_approved_parts_are_fitted_moved_or_swapped,
    only_serviceable_components_come_to_a_position,
    nothing_is_fitted_before_it_came_or_after_now,
    a_component_in_store_is_not_fitted_before_it_came_there,
);
