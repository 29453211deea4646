//! The median of pairwise slopes: the worked example of P. K. Sen, Journal of the American
//! Statistical Association 63 (1968), read in test suites of statistical libraries that
//! reproduce its data and slope.
//!
//! Source: P. K. Sen, Journal of the American Statistical Association 63 (1968).

use domain::time::Instant;
use domain::units::Amount;
use domain::usage::meter::MeterPoint;
use domain::usage::rate::daily_rate;

#[test]
fn the_example_has_slope_4() {
    let data = [
        (1, 9),
        (2, 15),
        (3, 19),
        (4, 20),
        (10, 45),
        (12, 55),
        (18, 78),
    ];
    let points = data.map(|(day, value)| MeterPoint {
        at: Instant::from_microseconds(day * 86_400_000_000).unwrap(),
        usage: Amount::whole(value),
    });
    let rate = daily_rate(&points).unwrap();
    assert_eq!(rate.likely(), Amount::whole(4));
}
