//! Random steps in the life of the small fleet. Things are named by small numbers, so that a
//! history that fails shrinks to one that a person can read.

use domain::configuration::component::Condition;
use proptest::prelude::*;

/// One step: time passes, then somebody acts, perhaps recording what was a while ago.
#[derive(Debug, Clone)]
pub(super) struct Step {
    /// How long after the step before it is recorded; nought: in the same moment.
    pub(super) wait_hours: i64,
    /// How long before that it became true.
    pub(super) ago_hours: i64,
    /// What.
    pub(super) act: Act,
}

/// What somebody does. Components and cars are places in their lists; a position is a place in
/// the list of those, on cars and in assemblies, where the component's part is approved, and one
/// where it is not.
#[derive(Debug, Clone)]
pub(super) enum Act {
    Fit {
        component: usize,
        position: usize,
    },
    FitUntil {
        component: usize,
        position: usize,
        hours: i64,
        condition: Condition,
    },
    Remove {
        component: usize,
        condition: Condition,
    },
    Move {
        component: usize,
        position: usize,
    },
    Swap {
        first: usize,
        second: usize,
    },
    Relocate {
        component: usize,
    },
    Judge {
        component: usize,
        condition: Condition,
    },
    /// Kilometres since the reading before.
    Read {
        car: usize,
        km: i64,
    },
    Replace {
        car: usize,
        km: i64,
    },
    Done {
        component: usize,
    },
    MoveToDepot {
        car: usize,
        depot: usize,
    },
    /// The entry so many before the last is corrected: it was at another position, another
    /// amount, or another time.
    Correct {
        back: usize,
        position: usize,
        km: i64,
    },
    Withdraw {
        back: usize,
    },
}

/// Components of the fleet.
pub(super) const COMPONENTS: usize = 9;
/// Cars of the fleet.
pub(super) const CARS: usize = 3;

/// A history of at most so many steps.
pub(super) fn history(steps_max: usize) -> impl Strategy<Value = Vec<Step>> {
    prop::collection::vec(step(), 1..=steps_max)
}

fn step() -> impl Strategy<Value = Step> {
    // Now and then longer than the half year from which a rate is told, so that what lies before
    // that is left out.
    let wait = prop_oneof![2 => Just(0_i64), 10 => 1_i64..40, 1 => 3_000_i64..6_000];
    let ago = prop_oneof![8 => Just(0_i64), 2 => 1_i64..100, 1 => 100_i64..8_000];
    (wait, ago, act()).prop_map(|(wait_hours, ago_hours, act)| Step {
        wait_hours,
        ago_hours,
        act,
    })
}

fn condition() -> impl Strategy<Value = Condition> {
    prop_oneof![
        7 => Just(Condition::Serviceable),
        2 => Just(Condition::RemovedToBeJudged),
        1 => Just(Condition::Unserviceable),
        1 => Just(Condition::Quarantined),
    ]
}

fn act() -> impl Strategy<Value = Act> {
    let of_one = prop_oneof![
        6 => place().prop_map(|(component, position)| Act::Fit { component, position }),
        3 => (place(), 1_i64..60, condition()).prop_map(
            |((component, position), hours, condition)| Act::FitUntil {
                component,
                position,
                hours,
                condition,
            }
        ),
        4 => (0..COMPONENTS, condition())
            .prop_map(|(component, condition)| Act::Remove { component, condition }),
        3 => place().prop_map(|(component, position)| Act::Move { component, position }),
        2 => (0..COMPONENTS, 0..COMPONENTS).prop_map(|(first, second)| Act::Swap { first, second }),
        1 => (0..COMPONENTS).prop_map(|component| Act::Relocate { component }),
        2 => (0..COMPONENTS, condition())
            .prop_map(|(component, condition)| Act::Judge { component, condition }),
        2 => (0..COMPONENTS).prop_map(|component| Act::Done { component }),
    ];
    let of_a_car = prop_oneof![
        6 => (0..CARS, 0_i64..900).prop_map(|(car, km)| Act::Read { car, km }),
        1 => (0..CARS, 0_i64..300).prop_map(|(car, km)| Act::Replace { car, km }),
        1 => (0..CARS, 0_usize..2).prop_map(|(car, depot)| Act::MoveToDepot { car, depot }),
    ];
    let of_an_entry = prop_oneof![
        1 => (0_usize..5, 0_usize..9, 0_i64..900)
            .prop_map(|(back, position, km)| Act::Correct { back, position, km }),
        2 => (0_usize..5).prop_map(|back| Act::Withdraw { back }),
    ];
    prop_oneof![6 => of_one, 2 => of_a_car, 2 => of_an_entry]
}

fn place() -> impl Strategy<Value = (usize, usize)> {
    (0..COMPONENTS, 0_usize..9)
}
