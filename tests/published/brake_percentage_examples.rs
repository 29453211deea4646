//! Brake percentages worked out in public. Sources: exercise 19671110 of viplearnings.com
//! (Polish); the article on brake percentage of a German encyclopaedia; Regulation (EU) 321/2013,
//! table C.3, note 8.

use crate::published::close;
use domain::braking::percentage::{Percentage, Rounding};
use domain::units::Kilograms;

fn percentage(braked_t: i64, mass_t: i64) -> Percentage {
    Percentage::new(Kilograms(braked_t * 1000), Kilograms(mass_t * 1000)).unwrap()
}

#[test]
fn the_polish_exercise_gives_70_and_91_percent() {
    assert_eq!(percentage(2100, 3000).whole(Rounding::Down), 70);
    let second = percentage(1000, 1100);
    close(second.percent(), 90.909, 5e-4);
    assert_eq!(second.whole(Rounding::Nearest), 91);
    assert_eq!(second.whole(Rounding::Down), 90);
}

#[test]
fn the_empty_coach_of_36_t_with_56_t_has_155_percent() {
    close(percentage(56, 36).percent(), 155.556, 5e-4);
    assert_eq!(percentage(56, 36).whole(Rounding::Down), 155);
}

/// Table C.3, note 8: braked weight limited to 18 t for an axle of 20 t.
#[test]
fn a_wagon_of_20_t_axles_is_limited_to_90_percent() {
    close(percentage(18, 20).percent(), 90.0, 0.0);
}
