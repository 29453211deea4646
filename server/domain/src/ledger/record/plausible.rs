//! Designs that cannot be: what no car can look like is refused before anything is computed from
//! it, with the place where it stands.

use crate::configuration::car_type::{BrakePosition, CarType, LoadState, within_car};
use crate::refusal::Refusal;
use crate::units::Kilograms;
use std::collections::BTreeMap;

/// How many times its mass the assessed braked weights of a car may come to. Common practice, no
/// source: magnetic track brakes included, trains are assessed at little more than twice.
const BRAKED_WEIGHT_MOST: i64 = 3;

/// Refuses a car that is heavier with less load, an axle or a position beyond its end, axles whose
/// numbers do not rise from end 1, cylinder pressures beyond the main air's, and braked weights beyond three times the mass. Linear, but for
/// a logarithm.
pub(super) fn check_plausible(car_type: &CarType) -> Result<(), Refusal> {
    masses(car_type)?;
    axles(car_type)?;
    positions(car_type)?;
    cylinder_pressures(car_type)?;
    braked_weights(car_type)
}

fn impossible(field: &'static str, given: String, allowed: String) -> Result<(), Refusal> {
    Err(Refusal::Impossible {
        field,
        given,
        allowed,
    })
}

fn masses(car_type: &CarType) -> Result<(), Refusal> {
    let known = LoadState::ALL
        .iter()
        .filter_map(|load| Some((*load, car_type.mass(*load)?)));
    let known: Vec<(LoadState, Kilograms)> = known.collect();
    for pair in known.windows(2) {
        if let [(less, lighter), (more, heavier)] = pair
            && heavier < lighter
        {
            let given = format!("{heavier} at {more} load");
            let allowed = format!("at least the {lighter} at {less} load");
            return impossible("mass", given, allowed);
        }
    }
    Ok(())
}

fn axles(car_type: &CarType) -> Result<(), Refusal> {
    let mut axles: Vec<_> = car_type.axles().map(|(_, axle)| axle).collect();
    axles.sort_by_key(|axle| axle.number);
    for axle in &axles {
        let what = format!("axle {}", axle.number);
        within(car_type, &what, axle.along_mm)?;
    }
    for pair in axles.windows(2) {
        if let [one, next] = pair
            && let Some(allowed) = next.misplaced_by(one)
        {
            let given = format!("axle {} at {} mm from end 1", next.number, next.along_mm);
            return impossible("along_mm", given, allowed);
        }
    }
    Ok(())
}

fn positions(car_type: &CarType) -> Result<(), Refusal> {
    let mut positions = car_type.positions.iter();
    positions.try_for_each(|one| within(car_type, one.code.as_str(), one.along_mm))
}

fn within(car_type: &CarType, what: &str, along_mm: u32) -> Result<(), Refusal> {
    within_car(along_mm, car_type.length_mm).or_else(|allowed| {
        let given = format!("{what} at {along_mm} mm from end 1");
        impossible("along_mm", given, allowed)
    })
}

fn cylinder_pressures(car_type: &CarType) -> Result<(), Refusal> {
    let forces = &car_type.forces;
    for group in &forces.groups {
        for pressure in &group.pressures {
            let mbar = pressure.pressure_mbar;
            forces.supplies(mbar).or_else(|allowed| {
                let given = format!("{mbar} mbar of group {}", group.name);
                impossible("pressure_mbar", given, allowed)
            })?;
        }
    }
    Ok(())
}

fn braked_weights(car_type: &CarType) -> Result<(), Refusal> {
    let mut sums: BTreeMap<(BrakePosition, LoadState), i64> = BTreeMap::new();
    for one in &car_type.braked_weights {
        let sum = sums.entry((one.brake_position, one.load)).or_default();
        *sum = sum.saturating_add(one.braked_weight.0);
    }
    for ((position, load), sum) in sums {
        let Some(mass) = car_type.mass(load) else {
            continue;
        };
        if mass.0.saturating_mul(BRAKED_WEIGHT_MOST) < sum {
            let sum = Kilograms(sum);
            let given = format!("{sum} in brake position {position} at {load} load");
            let allowed = format!("at most {BRAKED_WEIGHT_MOST} times the mass of {mass}");
            return impossible("braked_weight", given, allowed);
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const DESIGN: &str = r#"{"name":"Motor car","revision":"A","fleet":"Sedge","title":"invented",
        "vehicle_kind":"car","length_mm":24000,"speed_max_km_h":140,"daily_km_max":1000,
        "bogies":[{"number":1,"axles":[{"number":1,"along_mm":3000},{"number":2,"along_mm":5600}]},
            {"number":2,"axles":[{"number":3,"along_mm":18400},{"number":4,"along_mm":21000}]}],
        "masses":[{"load":"minimum","mass":40000},{"load":"normal","mass":50000},
            {"load":"maximum","mass":50000}],
        "circuit":{"nodes":[],"lines":[]},
        "braked_weights":[
            {"position":"=B1-A1","brake_position":"R","load":"normal","braked_weight":75000},
            {"position":"=B2-A1","brake_position":"R","load":"normal","braked_weight":75000}],
        "positions":[{"code":"=B1-A1","title":"caliper","kind":"caliper","along_mm":24000,
            "approved":[]}]}"#;

    fn refusal(from: &str, to: &str) -> String {
        assert!(DESIGN.contains(from), "{from}");
        let design: CarType = serde_json::from_str(&DESIGN.replacen(from, to, 1)).expect(to);
        let refused = check_plausible(&design).expect_err(to);
        refused.to_string()
    }

    #[test]
    fn a_design_at_every_limit_is_taken() {
        let design: CarType = serde_json::from_str(DESIGN).expect("a design");
        assert!(check_plausible(&design).is_ok());
    }

    #[test]
    fn what_no_car_can_be_is_refused_with_its_place_and_what_was_expected() {
        for (from, to, says) in [
            (
                r#""normal","mass":50000"#,
                r#""normal","mass":39999"#,
                ["39.999 t at normal load", "40 t at minimum load"],
            ),
            (
                r#""maximum","mass":50000"#,
                r#""maximum","mass":49000"#,
                ["49 t at maximum load", "50 t at normal load"],
            ),
            (
                r#""number":4,"along_mm":21000"#,
                r#""number":4,"along_mm":24001"#,
                ["axle 4 at 24001 mm", "at most 24000 mm"],
            ),
            (
                r#""along_mm":24000"#,
                r#""along_mm":24001"#,
                ["=B1-A1 at 24001 mm", "at most 24000 mm"],
            ),
            (
                r#""number":3,"along_mm":18400"#,
                r#""number":3,"along_mm":5600"#,
                ["axle 3 at 5600 mm", "further along than axle 2 at 5600 mm"],
            ),
            (
                r#""braked_weight":75000"#,
                r#""braked_weight":75001"#,
                ["150.001 t in brake position R", "3 times the mass of 50 t"],
            ),
        ] {
            let refused = refusal(from, to);
            for part in says {
                assert!(refused.contains(part), "{part}: {refused}");
            }
        }
    }

    #[test]
    fn without_a_mass_nothing_is_said_of_braked_weights() {
        let bare = DESIGN.replace(r#"{"load":"normal","mass":50000},"#, "");
        let bare = bare.replace("75000", "9000000");
        let design: CarType = serde_json::from_str(&bare).expect("a design");
        assert!(check_plausible(&design).is_ok());
    }
}
