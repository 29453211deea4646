//! An axle holds with no more than its adhesion. The limit of 0.12 for a parking brake: Regulation
//! (EU) 1302/2014, annex, 4.2.4.6.1. The unit is constructed: 140 t in all, end cars of 48 t with
//! springs of 20 kN on two of their four axles; the figures were worked out by hand.

use super::unit_examples::{rules, unit};
use domain::configuration::car_type::{BrakePosition, LoadState};
use domain::decision::{Decision, Question, TrainCar, Way, decide};
use domain::isolation::CutOutState::{ClosedVented, Failed, ReleasedByHand, SupplyCut};
use domain::rule_set::RuleSet;
use domain::rule_set::verdict::{AppliedRule, Permission};
use domain::units::Thousandths;
use domain::worked::Step;
use proptest::prelude::*;
use serde_json::json;

fn decided(cars: Vec<TrainCar>, adhesion: Option<u32>, rules: &[&RuleSet]) -> Decision {
    let question = Question {
        cars,
        supposed: Vec::new(),
        brake_position: BrakePosition::P,
        load: LoadState::Normal,
        way: Way {
            holding_adhesion: adhesion.map(Thousandths),
            ..Way::default()
        },
    };
    decide(&question, rules).unwrap()
}

/// The gradient left, in per mille.
fn left(cars: Vec<TrainCar>, adhesion: Option<u32>) -> f64 {
    let holding = decided(cars, adhesion, &[]).holding.unwrap();
    holding.after.value.0
}

fn close(found: f64, expected: f64) {
    assert!((found - expected).abs() < 0.001, "{found}, not {expected}");
}

fn words(steps: &[Step]) -> Vec<String> {
    let of = |step: &Step| format!("{}: {} [{}]", step.what, step.working, step.source);
    steps.iter().map(of).collect()
}

/// 48 t on four axles: 0.12 · 12 t · 9.81 m/s² = 14.126 kN at each of four axles, 56.506 kN of 140 t
/// · 9.81 m/s² = 1373.4 kN: 41.143 per mille. By their springs of 80 kN it would be 58.250.
#[test]
fn four_axles_of_12_t_hold_140_t_on_41_per_mille_at_an_adhesion_of_0_12() {
    close(left(unit(&[]), None), 58.250);
    close(left(unit(&[]), Some(120)), 41.143);
    // Two of them released by hand: half of it.
    let two = unit(&[("=P-C1", ReleasedByHand), ("=P-C4", ReleasedByHand)]);
    let holding = decided(two, Some(120), &[]).holding.unwrap();
    close(holding.before.value.0, 41.143);
    close(holding.after.value.0, 20.571);
    close(holding.force.0, 28.253);
    // 20 kN / (12 t · 9.81 m/s²) = 0.1699: from 0.170 on the springs decide.
    assert!(left(unit(&[]), Some(169)) < left(unit(&[]), None));
    close(left(unit(&[]), Some(170)), 58.250);
}

#[test]
fn the_steps_show_each_axle_that_is_limited_and_where_the_limit_comes_from() {
    let one = unit(&[("=P-C1", ReleasedByHand)]);
    let usual = json!({"holding_adhesion": {
        "thousandths": 120, "source": {"published": "the law"},
    }});
    let set = |usual| RuleSet {
        usual: serde_json::from_value(usual).unwrap(),
        ..rules(&json!({"always": "may_run"}))
    };
    let found = decided(one.clone(), Some(120), &[&set(usual)]).holding;
    let steps = words(&found.unwrap().after.steps);
    assert_eq!(
        steps[..2],
        [
            "limited by adhesion: car 1 axle 4; car 3 axle 1, 4: springs 20.00 kN each; 0.12 · \
             12 t · 9.81 m/s² = 14.13 kN each, its share of the car's mass equal to that of the \
             others [the law]",
            "holding force: springs 60.00 kN; holding 42.38 kN: after the limit of 0.12 [the law]",
        ]
    );
    let given = decided(one.clone(), Some(200), &[]).holding.unwrap();
    assert_eq!(
        words(&given.after.steps)[0],
        "holding force: springs 60.00 kN; holding 60.00 kN: no axle holds with more than 0.2 of \
         its load [entered: adhesion given with the question]"
    );
    let unknown = decided(one, None, &[]).holding.unwrap();
    assert_eq!(unknown.adhesion, None);
    let steps = words(&unknown.after.steps);
    assert!(steps[0].contains("not limited by adhesion"), "{steps:?}");
}

/// Standing on 40 per mille: Regulation (EU) 1302/2014, annex, 4.2.4.5.5.
#[test]
fn a_rule_on_holding_is_put_to_what_adhesion_leaves() {
    let on_40 = rules(&json!({"holding": {
        "gradient": 40.0, "safety_factor": 1.0, "otherwise": "may_not_run",
    }}));
    let applied = |adhesion| -> AppliedRule {
        let found = decided(unit(&[]), adhesion, &[&on_40]).verdicts;
        found[0].verdict.as_ref().unwrap().value.applied[0].clone()
    };
    for (adhesion, permission, words) in [
        (None, Permission::MayRun, "not limited by adhesion"),
        (Some(120), Permission::MayRun, "an adhesion of at most 0.12"),
        // 0.11 · 48 t of 140 t: 37.7 per mille.
        (
            Some(110),
            Permission::MayNotRun,
            "an adhesion of at most 0.11",
        ),
    ] {
        let rule = applied(adhesion);
        assert_eq!(rule.permission, permission, "{adhesion:?}");
        assert!(rule.working.contains(words), "{}", rule.working);
    }
}

proptest! {
    #[test]
    fn less_adhesion_never_holds_more_and_no_limit_holds_most(
        lesser in 10..=500_u32,
        more in 0..=400_u32,
        cut_out in proptest::sample::subsequence(
            vec![
                ("=P-C1", ReleasedByHand),
                ("=P-C4", Failed),
                ("=P-Q1", ClosedVented),
                ("=M-Q2", SupplyCut),
                ("=L-Q1", ClosedVented),
            ],
            0..=5,
        ),
    ) {
        let cars = unit(&cut_out);
        let greater = (lesser + more).min(500);
        let [least, most, all] = [Some(lesser), Some(greater), None]
            .map(|adhesion| left(cars.clone(), adhesion));
        prop_assert!(least <= most + 1e-9 && most <= all + 1e-9, "{least} {most} {all}");
    }
}
