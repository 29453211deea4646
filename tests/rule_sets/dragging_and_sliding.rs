//! Rules about brakes that drag and axles without protection against sliding: constructed, at
//! the edge of what they allow.

use super::general;
use super::trains::{four_axle_cars, on_the_road};
use domain::isolation::Supply;
use domain::rule_set::consequence::Consequence;
use domain::rule_set::facts::{DraggingFacts, TrainFacts};
use domain::rule_set::requirement::{Dragging, Requirement, SlideProtection};
use domain::rule_set::verdict::Permission;
use domain::rule_set::{OnlyIf, Rule, RuleSet, Scope, evaluate};
use domain::worked::Source;

fn with_rule(requirement: Requirement) -> RuleSet {
    let mut set = general();
    set.rules = vec![
        Rule {
            title: "constructed".to_owned(),
            source: Source::CommonPractice,
            scope: Scope::default(),
            only_if: OnlyIf::default(),
            requirement,
        },
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

fn permission(set: &RuleSet, train: &TrainFacts) -> Permission {
    evaluate(set, train).unwrap().value.permission
}

fn train() -> TrainFacts {
    on_the_road(four_axle_cars(&[4, 4, 4]))
}

#[test]
fn dragging_counts_at_once_or_once_stored_air_is_used_up_as_the_rule_says() {
    let rule = |when| {
        with_rule(Requirement::Dragging(Dragging {
            when,
            at_most: 1,
            otherwise: Consequence::MayNotRun,
        }))
    };
    let mut train = train();
    let cases = [
        (1, 1, Permission::MayRun, Permission::MayRun),
        (1, 2, Permission::MayRun, Permission::MayNotRun),
        (2, 2, Permission::MayNotRun, Permission::MayNotRun),
    ];
    for (at_once, later, now, afterwards) in cases {
        train.dragging = Some(DraggingFacts { at_once, later });
        assert_eq!(permission(&rule(Supply::Now), &train), now);
        assert_eq!(permission(&rule(Supply::Exhausted), &train), afterwards);
    }
    train.dragging = None;
    assert!(evaluate(&rule(Supply::Now), &train).is_err());
}

#[test]
fn axles_without_protection_against_sliding_are_counted() {
    let set = with_rule(Requirement::SlideProtection(SlideProtection {
        at_most: 2,
        otherwise: Consequence::MayNotRun,
    }));
    let mut train = train();
    for (count, expected) in [(2, Permission::MayRun), (3, Permission::MayNotRun)] {
        train.unprotected_axles = Some(count);
        assert_eq!(permission(&set, &train), expected);
    }
}
