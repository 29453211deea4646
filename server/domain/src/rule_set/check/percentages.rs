//! What is wrong with bands and tables of percentages.

use super::{Faults, check_consequence, check_counts, fault, is_positive};
use crate::rule_set::consequence::Consequence;
use crate::rule_set::requirement::{Band, Bands, CountedBy, Counting, Measure, RequiredTable};
use crate::rule_set::verdict::at_least_as_strict;
use crate::units::Speed;

/// The greatest brake percentage that a rule may speak of (SUBSET-026-3, A.3.11).
const BRAKE_PERCENTAGE_MAX: u32 = 250;

/// Checks how something is measured; the answer is the greatest percentage it may reach.
fn check_measure(measure: &Measure, faults: &mut Faults) -> u32 {
    let Measure::Proportion(counting) = measure else {
        return BRAKE_PERCENTAGE_MAX;
    };
    let Counting {
        by,
        if_tread_brakes_only,
        heavy_locomotives,
    } = counting;
    for by in [Some(*by), *if_tread_brakes_only].into_iter().flatten() {
        if let CountedBy::Cars(when) = by {
            check_counts(when, faults);
        }
    }
    if heavy_locomotives.is_some_and(|heavy| heavy.cut_out_axle_counts == 0) {
        fault(faults, "a cut-out axle counts 0", "1 or more");
    }
    100
}

pub(super) fn check_bands(bands: &Bands, faults: &mut Faults) {
    let max = check_measure(&bands.measure, faults);
    let mut from = Some(0);
    for band in &bands.bands {
        check_band(band, from, faults);
        let ends = [Some(band.at_least_percent), band.below_percent];
        if ends.into_iter().flatten().any(|percent| percent > max) {
            let what = format!("band from {} % outside its range", band.at_least_percent);
            fault(faults, what, format!("0 to {max} %"));
        }
        check_consequence(&band.consequence, faults);
        from = band.below_percent;
    }
    if bands
        .bands
        .last()
        .is_none_or(|last| last.below_percent.is_some())
    {
        fault(
            faults,
            "no band to the top",
            "a last band without upper end",
        );
    }
    for pair in bands.bands.windows(2) {
        if let [lower, upper] = pair
            && !is_at_least_as_strict(&lower.consequence, &upper.consequence)
        {
            let what = format!("below {} % milder than above", upper.at_least_percent);
            fault(faults, what, "no milder consequence with less brake");
        }
    }
}

/// `from` is where the band must begin; none after a band without upper end.
fn check_band(band: &Band, from: Option<u32>, faults: &mut Faults) {
    let begins = band.at_least_percent;
    match from {
        None => fault(
            faults,
            format!("band from {begins} % after the top"),
            "no band",
        ),
        Some(from) if begins > from => {
            let what = format!("gap from {from} to {begins} %");
            fault(faults, what, format!("a band from {from} %"));
        }
        Some(from) if begins < from => {
            let what = format!("overlap from {begins} to {from} %");
            fault(faults, what, format!("a band from {from} %"));
        }
        Some(_) => {}
    }
    if band.below_percent.is_some_and(|below| below <= begins) {
        let what = format!("empty band from {begins} %");
        fault(faults, what, "an upper end above the lower");
    }
}

/// Compares at greatest speeds from 70 to 400 km/h, since caps may depend on it. For slower trains
/// even published rules cross: half their speed may be less than the fixed cap of the band below.
fn is_at_least_as_strict(lower: &Consequence, upper: &Consequence) -> bool {
    (7..=40).map(|n| Speed(f64::from(n * 10))).all(|speed_max| {
        match (lower.impose(Some(speed_max)), upper.impose(Some(speed_max))) {
            (Ok(lower), Ok(upper)) => at_least_as_strict((lower.0, &lower.1), (upper.0, &upper.1)),
            _ => false,
        }
    })
}

pub(super) fn check_table(table: &RequiredTable, faults: &mut Faults) {
    let max = check_measure(&table.measure, faults);
    let ascending = |numbers: &[f64]| numbers.windows(2).all(|pair| pair[0] < pair[1]);
    let distances: Vec<f64> = table
        .tables
        .iter()
        .map(|t| t.signalling_distance.0)
        .collect();
    if distances.is_empty() || !ascending(&distances) || !distances.iter().all(|d| is_positive(*d))
    {
        fault(
            faults,
            "signalling distances not ascending",
            "the shortest first",
        );
    }
    for distance in &table.tables {
        let speeds: Vec<f64> = distance.speeds.iter().map(|speed| speed.0).collect();
        if speeds.is_empty() || !ascending(&speeds) || !speeds.iter().all(|s| is_positive(*s)) {
            fault(
                faults,
                "speeds not ascending",
                "the lowest first, above nil",
            );
        }
        let steepness: Vec<f64> = distance.rows.iter().map(|row| -row.gradient.0).collect();
        if steepness.is_empty() || !ascending(&steepness) || steepness.iter().any(|s| *s < 0.0) {
            fault(
                faults,
                "falls not ascending",
                "the least fall first, nil or negative",
            );
        }
        let rows: Vec<&[u32]> = distance
            .rows
            .iter()
            .map(|r| &r.required_percent[..])
            .collect();
        check_rows(&rows, speeds.len(), max, faults);
    }
}

fn check_rows(rows: &[&[u32]], columns: usize, max: u32, faults: &mut Faults) {
    if rows.iter().any(|row| row.len() != columns) {
        fault(
            faults,
            "a row of another length",
            "one percentage for each speed",
        );
    }
    if rows
        .iter()
        .any(|row| row.iter().any(|percent| *percent > max))
    {
        fault(
            faults,
            "a percentage outside its range",
            format!("0 to {max} %"),
        );
    }
    let along = |row: &[u32]| row.windows(2).all(|pair| pair[0] <= pair[1]);
    let down = |pair: &[&[u32]]| pair[0].iter().zip(pair[1]).all(|(a, b)| a <= b);
    if !rows.iter().all(|row| along(row)) || !rows.windows(2).all(down) {
        let expected = "never less for more speed or a steeper fall";
        fault(faults, "percentages that fall", expected);
    }
}
