//! What must hold of any verdict.

use super::trains::{four_axle_cars, mph, of, on_the_road};
use super::{cfr_49_238_15, general};
use domain::configuration::car_type::PositionKind;
use domain::rule_set::consequence::{CabRestriction, PassengerRestriction};
use domain::rule_set::facts::{HandBrake, TrainFacts, TrainKind, Whereabouts};
use domain::rule_set::verdict::Permission;
use domain::rule_set::{RuleSet, evaluate};
use domain::units::{Distance, Gradient, Kilonewtons, Speed};
use proptest::prelude::*;
use serde_json::json;

fn permission(set: &RuleSet, train: &TrainFacts) -> Permission {
    evaluate(set, train).unwrap().value.permission
}

#[test]
fn a_complete_train_may_run_by_both_sets() {
    let train = on_the_road(four_axle_cars(&[4, 4, 4, 4]));
    for set in [general(), cfr_49_238_15()] {
        assert_eq!(permission(&set, &train), Permission::MayRun);
    }
}

#[test]
fn every_applied_rule_is_a_step_with_numbers_and_source_strictest_first() {
    let train = on_the_road(four_axle_cars(&[4, 2, 4, 4]));
    let answer = evaluate(&general(), &train).unwrap();
    let verdict = &answer.value;
    assert_eq!(verdict.permission, Permission::WithRestrictions);
    let titles: Vec<&str> = verdict.applied.iter().map(|r| r.title.as_str()).collect();
    assert_eq!(
        titles[..3],
        [
            "Share of the braked weight left",
            "Infrastructure manager told of lost braking",
            "First vehicle braked",
        ]
    );
    // One rule does not apply on the road; it is a step too, and so is the decision.
    assert_eq!(verdict.applied.len() + 1, general().rules.len());
    assert_eq!(answer.steps.len(), general().rules.len() + 1);
    let share = &verdict.applied[0];
    assert_eq!(
        share.working,
        "210 t of 240 t braked weight = 87.50 %: at least 75 %, below 100 %"
    );
    let told = &verdict.restrictions.tell;
    assert_eq!(
        told,
        &["fleet controller", "infrastructure manager, at once"]
    );
    assert!(verdict.cautions.iter().any(|text| text.contains("example")));
}

#[test]
fn the_strictest_of_all_restrictions_holds() {
    let mut train = on_the_road(four_axle_cars(&[4, 0, 0, 4]));
    train.equipment.insert(PositionKind::Compressor, of(0, 2));
    let verdict = evaluate(&general(), &train).unwrap().value;
    // Half of 79 mph by the share of 50 %, 40 km/h by two cars together and by the compressors.
    assert_eq!(verdict.restrictions.speed.unwrap().speed, Speed(40.0));
    let passengers = Some(PassengerRestriction::NoneAboard);
    assert_eq!(verdict.restrictions.passengers, passengers);
    let distance = &verdict.applied[0].working;
    assert!(distance.contains("2 together") || distance.contains("0 of 2 work"));
}

/// Each holds with all that is milder, so that the stricter of two is both of them.
#[test]
fn of_restrictions_of_the_cab_the_strictest_holds_and_its_rule_comes_first() {
    let train = on_the_road(four_axle_cars(&[4, 4, 4, 4]));
    let mut set = general();
    for cab in CabRestriction::ALL {
        let rule = json!({
            "title": cab.name(), "source": "common_practice",
            "requirement": {"always": {"with_restrictions": {"cab": cab.name()}}},
        });
        set.rules.push(serde_json::from_value(rule).unwrap());
    }
    let verdict = evaluate(&set, &train).unwrap().value;
    assert_eq!(verdict.permission, Permission::WithRestrictions);
    let strictest = CabRestriction::LeadingCabWithBrake;
    assert_eq!(verdict.restrictions.cab, Some(strictest));
    assert_eq!(verdict.applied[0].title, strictest.name());
    // Not of any cab of a vehicle with a brake: of that at the front, where its own brake works.
    let words = "leading cab only with the brake of its vehicle working";
    assert_eq!(strictest.to_string(), words);
}

/// A restriction that the train cannot meet as it stands is none: it may not run.
#[test]
fn a_cab_whose_own_brake_must_work_is_held_against_the_vehicle_at_the_front() {
    let mut set = general();
    let rule = |cab: CabRestriction| {
        let rule = json!({
            "title": "cab", "source": "common_practice",
            "requirement": {"always": {"with_restrictions": {"cab": cab.name()}}},
        });
        vec![serde_json::from_value(rule).unwrap()]
    };
    set.rules = rule(CabRestriction::LeadingCabWithBrake);
    for axles in [0, 3] {
        let train = on_the_road(four_axle_cars(&[axles, 4, 4, 4]));
        let verdict = evaluate(&set, &train).unwrap().value;
        assert_eq!(verdict.permission, Permission::MayNotRun, "{axles}");
        let says = format!(
            "holds for every such train; driven from the leading cab only with the brake of its vehicle \
             working, and that of car 1 at the front does not work: {axles} of 4 axles brake"
        );
        assert_eq!(verdict.applied[0].working, says);
    }
    let elsewhere = on_the_road(four_axle_cars(&[4, 4, 4, 0]));
    assert_eq!(permission(&set, &elsewhere), Permission::WithRestrictions);
    let mut unknown = elsewhere;
    unknown.cars[0].axles = None;
    let missing = evaluate(&set, &unknown).unwrap_err();
    assert!(
        missing.to_string().contains("operative axles of car 1"),
        "{missing}"
    );
    set.rules = rule(CabRestriction::LeadingCab);
    let any_brake = on_the_road(four_axle_cars(&[0, 4, 4, 4]));
    assert_eq!(permission(&set, &any_brake), Permission::WithRestrictions);
}

#[test]
fn stopping_within_the_signalling_distance_caps_the_speed() {
    let mut train = on_the_road(four_axle_cars(&[4, 4, 4, 4]));
    train.speed_max = Some(Speed(160.0));
    // 120 %: from 160 km/h more than 1000 m by the nominal conversion model.
    let verdict = evaluate(&general(), &train).unwrap().value;
    let cap = verdict.restrictions.speed.unwrap();
    assert_eq!(cap.speed, Speed(135.0), "{cap}");
    // The way in the build-up time, by 160 / 3.6 m/s, and that of each step, to be added by hand.
    let workings = verdict.applied.iter().map(|rule| &rule.working);
    let numbers: Vec<&String> = workings
        .filter(|one| one.contains("44.44 m/s · "))
        .collect();
    let [numbers] = numbers[..] else {
        panic!("{numbers:?}");
    };
    let (told, parts) = numbers.split_once("): ").unwrap();
    let metres = |text: &str| -> f64 {
        let number = text.trim_end_matches(" m").rsplit(' ').next();
        number.unwrap().parse().unwrap()
    };
    let sum: f64 = parts.split("; ").map(metres).sum();
    let after = told.split(" m, allowed ").next().unwrap();
    assert!((metres(after) - sum).abs() < 0.5, "{numbers}");
    train.signalling_distance = Some(Distance(1500.0));
    assert_eq!(permission(&general(), &train), Permission::MayRun);
    train.gradient = Some(Gradient(-20.0));
    let verdict = evaluate(&general(), &train).unwrap().value;
    assert_eq!(verdict.restrictions.speed.unwrap().speed, Speed(150.0));
}

#[test]
fn holding_less_than_the_gradient_needs_is_a_condition_not_a_stop() {
    let mut train = on_the_road(four_axle_cars(&[4, 4, 4, 4]));
    let mut holding = train.holding.unwrap();
    // 200 t on 40 per mille pull 78.48 kN.
    holding.force = Kilonewtons(78.4);
    train.holding = Some(holding);
    let verdict = evaluate(&general(), &train).unwrap().value;
    assert_eq!(verdict.permission, Permission::WithRestrictions);
    assert_eq!(verdict.restrictions.speed, None);
    assert!(verdict.restrictions.conditions[0].contains("scotches"));
    holding.force = Kilonewtons(78.5);
    train.holding = Some(holding);
    assert_eq!(permission(&general(), &train), Permission::MayRun);
}

#[test]
fn each_missing_fact_prevents_a_verdict_and_is_named() {
    type Forget = fn(&mut TrainFacts);
    let forgotten: [(&str, Forget); 10] = [
        ("brake percentage", |train| train.percentage = None),
        ("steepest gradient", |train| train.gradient = None),
        ("signalling distance", |train| {
            train.signalling_distance = None;
        }),
        ("greatest speed", |train| train.speed_max = None),
        ("brake position and length", |train| train.formation = None),
        ("holding force", |train| train.holding = None),
        ("count of compressor", |train| train.equipment.clear()),
        ("operative axles", |train| train.cars[2].axles = None),
        ("whereabouts", |train| train.whereabouts = None),
        (": kind of train;", |train| train.kind = None),
    ];
    for (name, forget) in forgotten {
        let mut train = on_the_road(four_axle_cars(&[4, 4, 4, 4]));
        forget(&mut train);
        let missing = evaluate(&general(), &train).unwrap_err();
        assert!(missing.to_string().contains(name), "{name}: {missing}");
    }
    let missing = evaluate(&general(), &TrainFacts::default()).unwrap_err();
    assert!(!missing.0.is_empty());
}

#[test]
fn a_known_percentage_below_the_model_forbids_the_train_to_run() {
    // SUBSET-026-3, 3.13.3.2: the conversion model holds from 30 % upward. One operative axle of
    // sixteen leaves 15 t on 200 t; none leaves nothing.
    for (operative, percent) in [([1, 0, 0, 0], "7.50 %"), ([0, 0, 0, 0], "0.00 %")] {
        let train = on_the_road(four_axle_cars(&operative));
        let verdict = evaluate(&general(), &train).unwrap().value;
        assert_eq!(verdict.permission, Permission::MayNotRun);
        let mut rules = verdict.applied.iter();
        let stops = rules.find(|rule| rule.working.contains("no speed is proved"));
        let stops = stops.unwrap();
        assert_eq!(stops.permission, Permission::MayNotRun);
        assert!(stops.working.starts_with(percent), "{}", stops.working);
        assert!(stops.working.contains("at least 30 %"), "{}", stops.working);
    }
    // By the relation nothing is proved of a train with no brake, on any gradient.
    let text = serde_json::to_string(&general()).unwrap();
    let relation = text.replace("conversion_model_nominal", "braked_weight_relation");
    let relation: RuleSet = serde_json::from_str(&relation).unwrap();
    assert_ne!(relation, general());
    for gradient in [0.0, -20.0] {
        let mut train = on_the_road(four_axle_cars(&[0, 0, 0, 0]));
        train.gradient = Some(Gradient(gradient));
        assert_eq!(permission(&relation, &train), Permission::MayNotRun);
    }
}

#[test]
fn what_is_missing_for_one_rule_does_not_hide_that_another_forbids() {
    let mut train = on_the_road(four_axle_cars(&[0, 0, 0, 0]));
    train.holding = None;
    train.equipment.clear();
    let answer = evaluate(&general(), &train).unwrap();
    let verdict = &answer.value;
    assert_eq!(verdict.permission, Permission::MayNotRun);
    let beside = &verdict.cautions[0];
    for missing in ["holding force", "count of compressor"] {
        assert!(beside.contains(missing), "{beside}");
        let mut steps = answer.steps.iter();
        assert!(steps.any(|step| step.what == "not judged" && step.working.contains(missing)));
    }
    // Where nothing forbids, what is missing still leaves no verdict.
    train = on_the_road(four_axle_cars(&[4, 2, 4, 4]));
    train.holding = None;
    assert!(evaluate(&general(), &train).is_err());
}

#[test]
fn what_is_missing_for_several_rules_is_named_once() {
    let mut train = on_the_road(four_axle_cars(&[4, 4, 4, 4]));
    train.percentage = None;
    train.holding = None;
    let missing = evaluate(&general(), &train).unwrap_err();
    assert_eq!(missing.0.len(), 2, "{missing}");
}

#[test]
fn a_train_the_set_was_not_made_for_gets_no_verdict() {
    let mut train = on_the_road(four_axle_cars(&[4, 4, 4, 4]));
    train.kind = Some(TrainKind::Freight);
    for set in [general(), cfr_49_238_15()] {
        let missing = evaluate(&set, &train).unwrap_err();
        assert!(
            missing.to_string().contains("made for such trains"),
            "{missing}"
        );
    }
}

#[test]
fn a_set_of_rules_that_do_not_apply_gives_no_verdict() {
    let mut set = general();
    set.rules
        .retain(|rule| rule.scope.whereabouts == [Whereabouts::LeavingDepot]);
    let train = on_the_road(four_axle_cars(&[4, 4, 4, 4]));
    let missing = evaluate(&set, &train).unwrap_err();
    assert!(
        missing.to_string().contains("a rule that applies"),
        "{missing}"
    );
}

#[test]
fn a_share_that_fits_no_band_gives_no_verdict() {
    let text = serde_json::to_string(&cfr_49_238_15()).unwrap();
    let with_gap = text.replace("\"at_least_percent\":85", "\"at_least_percent\":95");
    let set: RuleSet = serde_json::from_str(&with_gap).unwrap();
    assert!(!set.check().is_empty());
    let train = on_the_road(four_axle_cars(&[4, 4, 2, 4]));
    assert!(evaluate(&set, &train).is_err());
}

#[derive(Debug, Clone)]
struct Case {
    cars: Vec<(u32, u32)>,
    whereabouts: Whereabouts,
    kind: TrainKind,
    speed: f64,
    gradient: f64,
    hand_brake: HandBrake,
}

fn case() -> impl Strategy<Value = Case> {
    // Operative axles of four, and how many of them are lost on top.
    let cars = prop::collection::vec((0_u32..=4, 0_u32..=4), 1..10);
    let whereabouts = prop::sample::select(Whereabouts::ALL);
    let kind = prop::sample::select(&TrainKind::ALL[..3]);
    let hand_brake = prop::sample::select(HandBrake::ALL);
    // Below 70 km/h the published caps cross: half the speed is less than 20 mph.
    let numbers = (70.0_f64..200.0, -30.0_f64..0.0);
    (cars, whereabouts, kind, numbers, hand_brake).prop_map(
        |(cars, whereabouts, kind, (speed, gradient), hand_brake)| Case {
            cars,
            whereabouts,
            kind,
            speed,
            gradient,
            hand_brake,
        },
    )
}

fn train(case: &Case, left: impl Fn(&(u32, u32)) -> u32) -> TrainFacts {
    let operative: Vec<u32> = case.cars.iter().map(left).collect();
    let mut train = on_the_road(four_axle_cars(&operative));
    for car in &mut train.cars {
        car.hand_brake = Some(case.hand_brake);
    }
    train.whereabouts = Some(case.whereabouts);
    train.kind = Some(case.kind);
    train.speed_max = Some(Speed(case.speed));
    train.gradient = Some(Gradient(case.gradient));
    train
}

proptest! {
    #[test]
    fn fewer_operative_brakes_never_give_a_milder_verdict(case in case()) {
        let more = train(&case, |(operative, _)| *operative);
        let fewer = train(&case, |(operative, lost)| operative.saturating_sub(*lost));
        for set in [general(), cfr_49_238_15()] {
            let (more, fewer) = (evaluate(&set, &more), evaluate(&set, &fewer));
            if let (Ok(more), Ok(fewer)) = (&more, &fewer) {
                prop_assert!(fewer.value.is_at_least_as_strict_as(&more.value));
            }
            // Of a train of which everything is known there is always a verdict.
            prop_assert!(more.is_ok() && fewer.is_ok(), "{more:?} {fewer:?}");
        }
    }

    #[test]
    fn the_permission_is_that_of_the_strictest_rule(case in case()) {
        let train = train(&case, |(operative, _)| *operative);
        let verdict = evaluate(&cfr_49_238_15(), &train).unwrap().value;
        let strictest = verdict.applied.iter().map(|rule| rule.permission).min();
        prop_assert_eq!(Some(verdict.permission), strictest);
        prop_assert_eq!(verdict.applied[0].permission, verdict.permission);
        for rule in &verdict.applied {
            if let (Some(cap), Some(all)) = (&rule.restrictions.speed, &verdict.restrictions.speed) {
                prop_assert!(all.speed <= cap.speed);
            }
        }
    }
}

#[test]
fn a_speed_is_told_in_whole_km_h_rounded_down_with_its_origin() {
    let verdict = evaluate(
        &cfr_49_238_15(),
        &on_the_road(four_axle_cars(&[4, 4, 4, 4, 4, 0, 0, 4])),
    );
    let cap = verdict.unwrap().value.restrictions.speed.unwrap();
    assert_eq!(cap.to_string(), "63 km/h (50 % of 127.1 km/h = 63.57 km/h)");
    assert!(cap.speed < mph(40.0));
}
