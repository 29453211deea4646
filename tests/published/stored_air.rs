//! Stored air by Boyle's law with pressures from vacuum. Constructed examples, checked by hand;
//! the reservoir condition is Regulation (EU) 321/2013 (WAG TSI), appendix C.9(f): after a full
//! application at least 0.3 bar above the cylinder.
//!
//! Source: Boyle's law; Regulation (EU) 321/2013, appendix C.9(f).

use crate::published::close;
use domain::braking::stored_air::{BeforeFilling, StoredAir, time_to_leak};
use domain::units::{GaugePressure, Litres};

fn wagon(reservoir_l: f64) -> StoredAir {
    StoredAir {
        reservoir: Litres(reservoir_l),
        pressure: GaugePressure(5.0),
        cylinders: Litres(14.0),
        application: GaugePressure(3.8),
        before: BeforeFilling::NoVolume,
    }
}

#[test]
fn fourteen_litres_of_cylinder_need_an_auxiliary_reservoir_of_75_litres() {
    let needed = wagon(100.0).reservoir_needed(GaugePressure(0.3)).unwrap();
    close(needed.value.0, 74.67, 0.005);
    let lowest = GaugePressure(3.8 + 0.3);
    for (litres, applications) in [(74.0, 0), (75.0, 1)] {
        let left = wagon(litres).applications_left(lowest).unwrap();
        assert_eq!(left.value, applications, "{litres} l");
    }
}

#[test]
fn an_isolated_supply_reservoir_of_125_litres_allows_eight_applications() {
    let supply = StoredAir {
        pressure: GaugePressure(8.5),
        ..wagon(125.0)
    };
    close(supply.drop_each().0, 0.5376, 1e-9);
    close(supply.pressure_after(8).0, 4.1992, 1e-9);
    let left = supply.applications_left(GaugePressure(4.1)).unwrap();
    assert_eq!(left.value, 8);
}

#[test]
fn a_bogie_on_100_litres_has_eleven_applications_or_17_5_minutes_of_leakage() {
    let bogie = StoredAir {
        reservoir: Litres(100.0),
        pressure: GaugePressure(8.5),
        cylinders: Litres(8.0),
        application: GaugePressure(3.8),
        before: BeforeFilling::SurroundingAir,
    };
    close(bogie.drop_each().0, 0.304, 1e-9);
    let lowest = GaugePressure(5.0);
    assert_eq!(bogie.applications_left(lowest).unwrap().value, 11);
    let time = time_to_leak(GaugePressure(8.5), lowest, 0.2).unwrap();
    close(time.0 / 60.0, 17.5, 1e-9);
    // With pistons at the bottom the same bogie has fewer.
    let safe = StoredAir {
        before: BeforeFilling::NoVolume,
        ..bogie
    };
    assert_eq!(safe.applications_left(lowest).unwrap().value, 9);
}

#[test]
fn unknown_volumes_give_no_answer() {
    let unknown = wagon(0.0);
    assert!(unknown.applications_left(GaugePressure(4.1)).is_err());
    assert!(unknown.reservoir_needed(GaugePressure(0.3)).is_err());
    assert!(wagon(100.0).reservoir_needed(GaugePressure(1.3)).is_err());
    assert_eq!(
        time_to_leak(GaugePressure(5.0), GaugePressure(4.0), 0.0),
        None
    );
}
