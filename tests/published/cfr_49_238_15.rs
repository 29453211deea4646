//! Passenger trains with power brake defects. Source: 49 CFR 238.15 (64 FR 25660; 65 FR 41306; 67
//! FR 19990), with 238.313(f) and 238.315(e). The examples are computed from the text; that the
//! sum of axles stays what it is when a heavy locomotive's axle counts twice is our reading.

use super::close;
use crate::rule_sets::cfr_49_238_15;
use crate::rule_sets::trains::{car, four_axle_cars, mph, of, on_the_road};
use domain::rule_set::consequence::{DestinationKind, PassengerRestriction};
use domain::rule_set::evaluate;
use domain::rule_set::facts::{
    CarFacts, HandBrake, Movement, TrainFacts, TrainKind, VehicleKind, Whereabouts,
};
use domain::rule_set::verdict::{AppliedRule, Permission, Verdict};
use domain::units::Kilograms;

fn verdict(train: &TrainFacts) -> Verdict {
    evaluate(&cfr_49_238_15(), train).unwrap().value
}

/// The applied rule on the share of operative brakes.
fn share(train: &TrainFacts) -> AppliedRule {
    let applied = verdict(train).applied.into_iter();
    let mut shares = applied.filter(|rule| rule.title.starts_with("Share"));
    shares.next().unwrap()
}

/// The cap of the share's band in mph.
fn cap_mph(train: &TrainFacts) -> Option<f64> {
    let cap = share(train).restrictions.speed?;
    Some(cap.speed.0 / mph(1.0).0)
}

/// Eight cars of four axles, the second and following cars cut out as often as told.
fn eight_cars(cut_out: usize) -> TrainFacts {
    let operative: Vec<u32> = (0..8)
        .map(|n| if (1..=cut_out).contains(&n) { 0 } else { 4 })
        .collect();
    on_the_road(four_axle_cars(&operative))
}

/// (d)(1)(i), (d)(3)(ii): 28 of 32 axles.
#[test]
fn one_car_of_eight_cut_out_is_87_5_percent_and_has_no_speed_figure() {
    let share = share(&eight_cars(1));
    assert!(
        share
            .working
            .starts_with("28 of 32 axles = 87.50 %: at least 85 %")
    );
    assert_eq!(share.permission, Permission::WithRestrictions);
    assert_eq!(share.restrictions.speed, None);
    let place = share.restrictions.destination.unwrap().kind;
    assert_eq!(place, DestinationKind::NextRepairPlace);
}

/// (d)(3)(i)(B): 24 of 32 axles, the lesser of half the maximum and 40 mph.
#[test]
fn at_75_percent_half_the_greatest_speed_or_40_mph_holds_whichever_is_less() {
    let mut train = eight_cars(2);
    assert!(
        share(&train)
            .working
            .starts_with("24 of 32 axles = 75.00 %: at least 75 %")
    );
    close(cap_mph(&train).unwrap(), 39.5, 1e-9);
    train.speed_max = Some(mph(110.0));
    close(cap_mph(&train).unwrap(), 40.0, 1e-9);
    let told = verdict(&train).restrictions.speed.unwrap();
    assert_eq!(told.to_string(), "64 km/h (40 mph)");
}

/// (d)(2): 20 and 16 of 32 axles; below 50 % (d) grants no movement.
#[test]
fn from_50_to_75_percent_20_mph_to_the_next_station_and_nothing_below() {
    for cut_out in [3, 4] {
        let train = eight_cars(cut_out);
        let restrictions = share(&train).restrictions;
        close(cap_mph(&train).unwrap(), 20.0, 1e-9);
        assert_eq!(restrictions.speed.unwrap().to_string(), "32 km/h (20 mph)");
        let place = restrictions.destination.unwrap().kind;
        assert_eq!(place, DestinationKind::NextStation);
    }
    assert_eq!(share(&eight_cars(5)).permission, Permission::MayNotRun);
    assert_eq!(verdict(&eight_cars(5)).permission, Permission::MayNotRun);
}

/// (d)(3)(ii): the lower end of a band belongs to it.
#[test]
fn the_lower_end_of_a_band_belongs_to_it() {
    use Permission::{MayNotRun, MayRun, WithRestrictions};
    let shares = |operative, total| {
        let train = on_the_road(vec![car(1, operative, total)]);
        let rule = share(&train);
        (rule.permission, rule.restrictions.speed.is_some())
    };
    for (operative, total, expected) in [
        (17, 20, (WithRestrictions, false)),
        (84, 100, (WithRestrictions, true)),
        (85, 100, (WithRestrictions, false)),
        (75, 100, (WithRestrictions, true)),
        (50, 100, (WithRestrictions, true)),
        (49, 100, (MayNotRun, false)),
        (99, 100, (WithRestrictions, false)),
        (100, 100, (MayRun, false)),
    ] {
        assert_eq!(shares(operative, total), expected, "{operative}/{total}");
    }
    let just_below_75 = on_the_road(vec![car(1, 74, 100)]);
    close(cap_mph(&just_below_75).unwrap(), 20.0, 1e-9);
}

fn with_locomotive(mass: Kilograms, operative: u32) -> TrainFacts {
    let mut cars = four_axle_cars(&[4, 4, 4, 4, 4, 4]);
    let locomotive = CarFacts {
        kind: Some(VehicleKind::Locomotive),
        mass: Some(mass),
        ..car(9, operative, 4)
    };
    // In the middle, so that the rule on front and rear says nothing.
    cars.insert(3, locomotive);
    on_the_road(cars)
}

/// (d)(1)(iii): more than 200,000 lb (90,718.474 kg); 260,000 lb are 117,934 kg.
#[test]
fn cut_out_axles_of_a_heavy_locomotive_count_twice() {
    let heavy = Kilograms(117_934);
    let limit = Kilograms(90_718);
    for (mass, operative, working, capped) in [
        (heavy, 3, "92.85 %", false),
        (heavy, 0, "71.42 %", true),
        (limit, 0, "24 of 28 axles = 85.71 %", false),
        (Kilograms(90_719), 0, "71.42 %", true),
    ] {
        let train = with_locomotive(mass, operative);
        let rule = share(&train);
        assert!(rule.working.contains(working), "{}", rule.working);
        assert_eq!(rule.restrictions.speed.is_some(), capped);
    }
    close(cap_mph(&with_locomotive(heavy, 0)).unwrap(), 20.0, 1e-9);
    let mut unknown = with_locomotive(heavy, 0);
    unknown.cars[3].mass = None;
    let missing = evaluate(&cfr_49_238_15(), &unknown).unwrap_err();
    assert!(missing.to_string().contains("mass of car 9"), "{missing}");
}

fn tread_braked(out: u32) -> TrainFacts {
    let cars = (1..=8).map(|n| {
        let operative = if n == 4 { 8 - out.min(8) } else { 8 };
        let operative = if n == 5 {
            operative - out.saturating_sub(8)
        } else {
            operative
        };
        CarFacts {
            actuators: Some(of(operative, 8)),
            tread_brake_units: Some(of(operative, 8)),
            ..car(n, 4, 4)
        }
    });
    on_the_road(cars.collect())
}

/// (d)(1)(ii): tread brake units in a train that has nothing else.
#[test]
fn a_train_with_only_tread_brake_units_is_counted_by_them() {
    let share_of = |train: &TrainFacts| {
        let rule = share(train);
        (rule.working, rule.restrictions.speed.is_some())
    };
    let (working, capped) = share_of(&tread_braked(9));
    assert!(
        working.starts_with("55 of 64 tread brake units = 85.93 %"),
        "{working}"
    );
    assert!(!capped);
    let (working, capped) = share_of(&tread_braked(10));
    assert!(
        working.starts_with("54 of 64 tread brake units = 84.37 %"),
        "{working}"
    );
    assert!(capped);
    let mut mixed = tread_braked(10).cars;
    mixed.push(car(9, 4, 4));
    let (working, capped) = share_of(&on_the_road(mixed));
    assert!(
        working.starts_with("36 of 36 axles = 100.00 %"),
        "{working}"
    );
    assert!(!capped);
}

/// (d)(1)(iv): a failed secondary brake, a defective hand brake, long but effective piston travel
/// and an overdue brake do not count as inoperative. They are no facts of the rule set at all:
/// what brakes is operative.
#[test]
fn what_still_brakes_is_operative_whatever_else_is_wrong_with_it() {
    let mut train = eight_cars(0);
    for car in &mut train.cars {
        car.hand_brake = None;
    }
    let rule = share(&train);
    assert!(rule.working.starts_with("32 of 32 axles = 100.00 %"));
    assert_eq!(verdict(&train).permission, Permission::MayRun);
}

/// (e)(1), (e)(2): front or rear unit completely inoperative, at 95 %.
#[test]
fn an_unbraked_rear_car_is_restricted_by_where_its_hand_brake_is() {
    let mut cars: Vec<CarFacts> = (1..=19).map(|n| car(n, 4, 4)).collect();
    cars.push(car(20, 0, 4));
    let mut train = on_the_road(cars);
    let answer = verdict(&train);
    assert_eq!(
        answer.restrictions.speed.unwrap().to_string(),
        "32 km/h (20 mph)"
    );
    let empty = Some(PassengerRestriction::NotInUnbrakedVehicle);
    assert_eq!(answer.restrictions.passengers, empty);
    train.cars[19].hand_brake = Some(HandBrake::Inside);
    let answer = verdict(&train);
    assert_eq!(answer.restrictions.speed, None);
    assert_eq!(answer.restrictions.passengers, empty);
    let stationed = |text: &String| text.contains("qualified person");
    assert!(answer.restrictions.conditions.iter().any(stationed));
    train.cars[19].hand_brake = None;
    assert!(evaluate(&cfr_49_238_15(), &train).is_err());
    // One axle left: not completely inoperative.
    train.cars[19] = car(20, 1, 4);
    assert_eq!(verdict(&train).restrictions.speed, None);
}

fn at_the_test(operative: u32, movement: Movement) -> TrainFacts {
    TrainFacts {
        whereabouts: Some(Whereabouts::LeavingDepot),
        movement: Some(movement),
        ..on_the_road(vec![car(1, operative, 100)])
    }
}

/// (b): found at a Class I or IA test.
#[test]
fn a_defect_found_at_the_test_means_no_passengers() {
    let repair = verdict(&at_the_test(90, Movement::ForRepair));
    assert_eq!(repair.permission, Permission::WithRestrictions);
    let none = Some(PassengerRestriction::NoneAboard);
    assert_eq!(repair.restrictions.passengers, none);
    let scrap = verdict(&at_the_test(30, Movement::ForScrapOrSale));
    assert_eq!(scrap.restrictions.passengers, none);
    assert_eq!(
        scrap.restrictions.speed.unwrap().to_string(),
        "24 km/h (15 mph)"
    );
}

/// 238.313(f), 238.315(e): departure in passenger service needs 100 %.
#[test]
fn a_departure_after_the_test_with_99_percent_is_refused() {
    let refused = verdict(&at_the_test(99, Movement::InService));
    assert_eq!(refused.permission, Permission::MayNotRun);
    assert_eq!(
        refused.applied[0].title,
        "Departure after a Class I or IA test"
    );
    let complete = verdict(&at_the_test(100, Movement::InService));
    assert_eq!(complete.permission, Permission::MayRun);
}

/// (d)(4): long-distance trains go to a place on the railroad's list.
#[test]
fn long_distance_trains_go_to_a_listed_place_of_repair() {
    let mut train = eight_cars(2);
    train.kind = Some(TrainKind::LongDistance);
    let place = share(&train).restrictions.destination.unwrap();
    assert_eq!(place.kind, DestinationKind::ListedRepairPlace);
    close(cap_mph(&train).unwrap(), 39.5, 1e-9);
}

/// (c)(4): who is told when a brake is cut out on the road.
#[test]
fn a_brake_cut_out_on_the_road_is_told_to_two_people_and_confirmed_on_foot() {
    let restrictions = verdict(&eight_cars(1)).restrictions;
    assert_eq!(restrictions.tell.len(), 2);
    let walk = |text: &String| text.contains("walking inspection");
    assert!(restrictions.conditions.iter().any(walk));
    assert!(verdict(&eight_cars(0)).restrictions.tell.is_empty());
}
