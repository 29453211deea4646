//! Rules that hold in a part of the year or on some routes: constructed, at their edges.

use super::general;
use super::trains::{four_axle_cars, on_the_road};
use domain::rule_set::consequence::Consequence;
use domain::rule_set::facts::TrainFacts;
use domain::rule_set::requirement::{Requirement, SlideProtection};
use domain::rule_set::verdict::Permission;
use domain::rule_set::{OnlyIf, Rule, RuleSet, Scope, evaluate};
use domain::worked::Source;

/// No axle without protection against sliding while leaves fall, and on the route over the moor
/// not at any time.
fn rules() -> RuleSet {
    let slide = |title: &str, only_if| Rule {
        title: title.to_owned(),
        source: Source::CommonPractice,
        scope: Scope::default(),
        only_if,
        requirement: Requirement::SlideProtection(SlideProtection {
            at_most: 0,
            otherwise: Consequence::MayNotRun,
        }),
    };
    let mut set = general();
    set.rules = vec![
        slide(
            "leaves",
            OnlyIf {
                in_season: Some("10-01 to 12-15".parse().unwrap()),
                ..OnlyIf::default()
            },
        ),
        slide(
            "moor",
            OnlyIf {
                on_routes: vec!["Over the moor".parse().unwrap()],
                ..OnlyIf::default()
            },
        ),
        Rule {
            title: "any".to_owned(),
            source: Source::CommonPractice,
            scope: Scope::default(),
            only_if: OnlyIf::default(),
            requirement: Requirement::Always(Consequence::MayRun),
        },
    ];
    assert_eq!(set.check(), []);
    set
}

fn train(day: &str, route: &str) -> TrainFacts {
    TrainFacts {
        unprotected_axles: Some(1),
        day: Some(day.parse().unwrap()),
        route: Some(route.parse().unwrap()),
        ..on_the_road(four_axle_cars(&[4, 4, 4]))
    }
}

#[test]
fn the_same_train_may_run_today_and_not_when_leaves_fall_nor_over_the_moor() {
    let set = rules();
    for (day, route, expected) in [
        ("2026-09-30", "Along the coast", Permission::MayRun),
        ("2026-10-01", "Along the coast", Permission::MayNotRun),
        ("2026-12-15", "Along the coast", Permission::MayNotRun),
        ("2026-12-16", "Along the coast", Permission::MayRun),
        ("2026-06-01", "Over the moor", Permission::MayNotRun),
    ] {
        let verdict = evaluate(&set, &train(day, route)).unwrap().value;
        assert_eq!(verdict.permission, expected, "{day} {route}");
    }
}

#[test]
fn a_route_or_day_that_is_not_known_gives_no_verdict_where_a_rule_needs_it() {
    let set = rules();
    let mut nowhere = train("2026-06-01", "Along the coast");
    nowhere.route = None;
    let missing = evaluate(&set, &nowhere).unwrap_err();
    assert!(missing.to_string().contains("route"), "{missing}");
    let mut whenever = train("2026-06-01", "Along the coast");
    whenever.day = None;
    let missing = evaluate(&set, &whenever).unwrap_err();
    assert!(missing.to_string().contains("day"), "{missing}");
    // The shipped rule sets ask for neither.
    nowhere.unprotected_axles = Some(0);
    assert!(evaluate(&general(), &nowhere).is_ok());
}
