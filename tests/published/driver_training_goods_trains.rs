//! Deductions in goods trains run in P. Source: driver-training page on brake settings of goods
//! trains, tf-ausbildung.de; one railway's parameter set.

use domain::braking::braked_weight::FormationDeductions;
use domain::units::{Distance, Kilograms};

#[test]
fn vehicles_in_g_and_long_sets_of_wagons_count_less() {
    let deductions = FormationDeductions {
        vehicle_in_g_percent: 80,
        by_length: vec![(Distance(500.0), 5), (Distance(600.0), 10)],
    };
    assert_eq!(
        deductions.vehicle_in_g(Kilograms(50_000)),
        Kilograms(40_000)
    );
    for (length, percent) in [(500.0, 0), (550.0, 5), (600.0, 5), (650.0, 10)] {
        assert_eq!(deductions.for_length(Distance(length)), percent);
    }
}
