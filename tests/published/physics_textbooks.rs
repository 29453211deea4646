//! Uniform deceleration. Sources at each test: a Swedish rail question-and-answer site, article
//! "Hur beräknar man bromssträcka?"; `OpenStax` College Physics, chapter 2; Edexcel GCE Mechanics
//! 2005, paper 1, question 5; a public physics page.

use crate::published::close;
use domain::braking::stopping_distance::mean_value::{
    deceleration_in, distance, distance_in, stopping_distance, stopping_time, time_over,
};
use domain::braking::stopping_distance::{Method, Stop};
use domain::units::{Deceleration, Distance, Seconds, Speed};

fn metres_per_second(v: f64) -> Speed {
    Speed(v * 3.6)
}

/// Swedish site: 80 km/h, 1.01 m/s², 6 s application: 244 m + 133 m = 377 m, parts rounded.
#[test]
fn the_swedish_example_stops_in_378_m() {
    let found = stopping_distance(Speed(80.0), Seconds(6.0), Deceleration(1.01)).unwrap();
    let Stop::After(metres) = found.value.stop else {
        panic!("the train stops")
    };
    close(metres.0, 377.8, 0.05);
    close(metres.0, 377.0, 1.0);
    assert_eq!(found.value.method, Method::MeanValue);
    assert!(stopping_distance(Speed(80.0), Seconds(6.0), Deceleration(0.0)).is_err());
}

/// `OpenStax`: a light-rail train at 80 km/h stops at 1.65 m/s² in 13.5 s; in 8.30 s at 2.68 m/s².
#[test]
fn the_light_rail_train_stops_in_13_5_s() {
    let time = stopping_time(Speed(80.0), Deceleration(1.65)).unwrap();
    close(time.0, 13.47, 0.005);
    let harder = deceleration_in(Speed(80.0), Seconds(8.30)).unwrap();
    close(harder.0, 2.677, 5e-4);
}

/// Edexcel: from 10 to 3 m/s in 12 s over 78 m; the last 12 m from 3 m/s are computed.
#[test]
fn the_examination_train_slows_over_78_m() {
    let (ten, three) = (metres_per_second(10.0), metres_per_second(3.0));
    close(distance_in(ten, three, Seconds(12.0)).0, 78.0, 1e-9);
    let time = time_over(three, Speed(0.0), Distance(12.0)).unwrap();
    close(time.0, 8.0, 1e-9);
}

/// Physics page: 40 m/s at 2 m/s² takes 400 m.
#[test]
fn forty_metres_a_second_at_two_takes_400_m() {
    let a = Deceleration(2.0);
    let found = distance(metres_per_second(40.0), Speed(0.0), Seconds(0.0), a);
    close(found.unwrap().0, 400.0, 1e-9);
    assert_eq!(distance(Speed(10.0), Speed(20.0), Seconds(0.0), a), None);
}
