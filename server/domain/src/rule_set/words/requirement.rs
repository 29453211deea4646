//! What a rule demands, in words.

use super::consequence::words;
use super::figures::{km_h, metres, per_mille};
use crate::isolation::Supply;
use crate::rule_set::requirement::{
    Band, CountedBy, Counting, CountsAsBraked, DistanceTable, EndVehicle, Measure, Requirement,
    StoppingMethod, TrainEnd, Within,
};

/// Each thing demanded and what follows, a line each.
pub(super) fn lines(requirement: &Requirement) -> Vec<String> {
    match requirement {
        Requirement::Always(consequence) => vec![format!("always: {}", words(consequence))],
        Requirement::Bands(bands) => {
            let measured = std::iter::once(measure(&bands.measure));
            measured.chain(bands.bands.iter().map(band)).collect()
        }
        Requirement::Table(table) => {
            let first = format!(
                "{}; the greatest speed whose requirement is met",
                measure(&table.measure)
            );
            let rows = table.tables.iter().flat_map(rows);
            std::iter::once(first).chain(rows).collect()
        }
        Requirement::Stopping(stopping) => {
            let within = match stopping.within {
                Within::SignallingDistance => "the signalling distance of the way ahead".to_owned(),
                Within::Distance(distance) => metres(distance),
            };
            let method = method(stopping.method);
            vec![format!(
                "the greatest speed that stops within {within} by the {method}"
            )]
        }
        Requirement::EndVehicle(vehicle) => end_vehicle(vehicle),
        Requirement::Adjacent(adjacent) => vec![
            format!(
                "at most {} neighbouring vehicles without brake",
                adjacent.at_most
            ),
            braked(adjacent.counts_as_braked),
            otherwise(&adjacent.otherwise),
        ],
        Requirement::Holding(holding) => vec![
            format!(
                "stands on {} when nobody acts, with factor {}",
                per_mille(holding.gradient),
                holding.safety_factor
            ),
            otherwise(&holding.otherwise),
        ],
        Requirement::Equipment(equipment) => vec![
            format!(
                "at least {} of the kind {} work",
                equipment.at_least, equipment.kind
            ),
            otherwise(&equipment.otherwise),
        ],
        Requirement::Dragging(dragging) => {
            let when = match dragging.when {
                Supply::Now => "at once",
                Supply::Exhausted => "at once or once stored air is used up",
            };
            vec![
                format!("at most {} brakes drag {when}", dragging.at_most),
                otherwise(&dragging.otherwise),
            ]
        }
        Requirement::SlideProtection(sliding) => vec![
            format!(
                "at most {} braked axles without protection against sliding",
                sliding.at_most
            ),
            otherwise(&sliding.otherwise),
        ],
    }
}

fn otherwise(consequence: &crate::rule_set::consequence::Consequence) -> String {
    format!("otherwise: {}", words(consequence))
}

fn band(band: &Band) -> String {
    format!("{}: {}", band.range(), words(&band.consequence))
}

fn rows(table: &DistanceTable) -> impl Iterator<Item = String> {
    table.rows.iter().map(|row| {
        let pairs = table.speeds.iter().zip(&row.required_percent);
        let pairs: Vec<String> = pairs
            .map(|(speed, percent)| format!("{} from {percent} %", km_h(*speed)))
            .collect();
        format!(
            "signalling distance {}, gradient {}: {}",
            metres(table.signalling_distance),
            per_mille(row.gradient),
            pairs.join(", ")
        )
    })
}

fn method(method: StoppingMethod) -> &'static str {
    match method {
        StoppingMethod::BrakedWeightRelation => "braked-weight relation of UIC 544-1",
        StoppingMethod::ConversionNominal => "conversion model of SUBSET-026, nominal",
        StoppingMethod::ConversionDefaultValues => {
            "conversion model of SUBSET-026, default national values"
        }
    }
}

fn end_vehicle(vehicle: &EndVehicle) -> Vec<String> {
    let demand = match vehicle.end {
        TrainEnd::First => "the first vehicle brakes",
        TrainEnd::Last => "the last vehicle brakes",
        TrainEnd::LastTwo => "the last vehicle or the last but one brakes",
        TrainEnd::FirstOrLast => "the first and the last vehicle brake",
    };
    let worked = vehicle.hand_brake;
    let hand_brake = worked.map(|from| format!("only where its hand brake is worked from: {from}"));
    [demand.to_owned(), braked(vehicle.counts_as_braked)]
        .into_iter()
        .chain(hand_brake)
        .chain([otherwise(&vehicle.otherwise)])
        .collect()
}

fn braked(when: CountsAsBraked) -> String {
    match when {
        CountsAsBraked::AllAxles => "a vehicle counts as braked when all its axles are".to_owned(),
        CountsAsBraked::AxlesAtLeast(axles) => {
            format!("a vehicle counts as braked when at least {axles} of its axles are")
        }
    }
}

fn measure(measure: &Measure) -> String {
    match measure {
        Measure::BrakePercentage => "brake percentage that is left".to_owned(),
        Measure::Proportion(counting) => proportion(counting),
    }
}

fn proportion(counting: &Counting) -> String {
    let by = format!("share of operative brakes by {}", counted_by(counting.by));
    let instead = counting.if_tread_brakes_only;
    let instead = instead.map(|by| {
        let by = counted_by(by);
        format!("by {by} where all are tread brake units")
    });
    let heavy = counting.heavy_locomotives;
    let heavy = heavy.map(|heavy| {
        format!(
            "a cut-out axle of a locomotive heavier than {} counts as {}",
            heavy.heavier_than, heavy.cut_out_axle_counts
        )
    });
    let words: Vec<String> = [Some(by), instead, heavy].into_iter().flatten().collect();
    words.join("; ")
}

fn counted_by(by: CountedBy) -> String {
    match by {
        CountedBy::Actuators => "actuators".to_owned(),
        CountedBy::TreadBrakeUnits => "tread brake units".to_owned(),
        CountedBy::Axles => "axles".to_owned(),
        CountedBy::Bogies => "bogies".to_owned(),
        CountedBy::Cars(when) => format!("vehicles, where {}", braked(when)),
        CountedBy::BrakedWeight => "braked weight".to_owned(),
        CountedBy::Equipment(kind) => format!("equipment of the kind {kind}"),
    }
}
