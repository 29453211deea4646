//! Brake percentage, hand brakes and unbraked axles in law. Source: Bavarian EBOA, annex 22, part
//! I, paragraphs 2 and 3 (version of 1983, in force from 2013). The rules are the law's, the
//! numbers constructed examples.

use crate::published::close;
use domain::braking::braked_weight::{TractionUnit, unbraked_axles, unmarked_hand_brake};
use domain::braking::percentage::Percentage;
use domain::units::Kilograms;

fn tonnes(t: i64) -> Kilograms {
    Kilograms(t * 1000)
}

/// Paragraph 2: b = 100 · ΣB / ΣG, only working brakes counted.
#[test]
fn an_isolated_brake_leaves_the_sum_of_braked_weight_and_stays_in_the_mass() {
    let cars = [(82, 52), (70, 46), (70, 46), (82, 52)];
    let all = Percentage::of(cars.map(|(b, m)| (tonnes(b), tonnes(m)))).unwrap();
    close(all.percent(), 155.102, 5e-4);
    for (lost, expected) in [(35, 137.245), (82, 113.265), (70, 119.388), (304, 0.0)] {
        let left = Percentage::new(all.braked_weight() - tonnes(lost), all.mass()).unwrap();
        close(left.percent(), expected, 5e-4);
        assert_eq!(left.mass(), all.mass());
    }
    let two_sets = Percentage::new(tonnes(2 * 304 - 82), tonnes(2 * 196)).unwrap();
    close(two_sets.percent(), 134.184, 5e-4);
}

#[test]
fn a_train_without_mass_has_no_percentage() {
    assert!(Percentage::new(tonnes(10), tonnes(0)).is_err());
    assert!(Percentage::of([]).is_err());
}

/// Paragraph 2: an unmarked hand brake counts the share on two axles, at most 26 t.
#[test]
fn an_unmarked_hand_brake_counts_two_axles_and_at_most_26_t() {
    assert_eq!(unmarked_hand_brake(tonnes(60), 4), Some(tonnes(26)));
    assert_eq!(unmarked_hand_brake(tonnes(40), 4), Some(tonnes(20)));
    assert_eq!(unmarked_hand_brake(tonnes(40), 0), None);
}

/// Paragraph 3: a = (100·B − b·G) / (b·G axle), rounded down.
#[test]
fn a_braked_traction_unit_may_move_seven_unbraked_axles() {
    let unit = TractionUnit {
        braked: tonnes(40),
        mass: tonnes(60),
    };
    assert_eq!(unbraked_axles(unit, 30, tonnes(10)), Some(7));
    assert_eq!(unbraked_axles(unit, 70, tonnes(10)), Some(0));
    assert_eq!(unbraked_axles(unit, 0, tonnes(10)), None);
}
