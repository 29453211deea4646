//! What follows from a rule, in words.

use super::figures::{km_h, metres};
use crate::rule_set::consequence::{Consequence, Restrictions, SpeedCap};

/// "may run with restrictions: at most 40.0 km/h; no passengers aboard".
pub(super) fn words(consequence: &Consequence) -> String {
    match consequence {
        Consequence::MayRun => "may run".to_owned(),
        Consequence::MayNotRun => "may not run".to_owned(),
        Consequence::WithRestrictions(restrictions) => {
            format!("may run with restrictions: {}", restricted(restrictions))
        }
    }
}

fn restricted(restrictions: &Restrictions) -> String {
    let Restrictions {
        speed_caps,
        passengers,
        cab,
        distance_max,
        destination,
        conditions,
        tell,
    } = restrictions;
    let mut words: Vec<String> = speed_caps.iter().map(cap).collect();
    words.extend(passengers.map(|passengers| format!("passengers {passengers}")));
    words.extend(cab.map(|cab| format!("driven from the {cab}")));
    words.extend(distance_max.map(|distance| format!("no further than {}", metres(distance))));
    words.extend(
        destination
            .as_ref()
            .map(|to| format!("to the {}: {}", to.kind, to.words)),
    );
    words.extend(conditions.iter().map(|condition| {
        let sentence = condition.trim_end_matches('.');
        sentence.to_owned()
    }));
    if !tell.is_empty() {
        words.push(format!("tell {}", tell.join(", ")));
    }
    words.join("; ")
}

fn cap(cap: &SpeedCap) -> String {
    match cap {
        SpeedCap::Fixed {
            speed,
            printed: Some(printed),
        } => format!("at most {}, printed as {printed}", km_h(*speed)),
        SpeedCap::Fixed {
            speed,
            printed: None,
        } => format!("at most {}", km_h(*speed)),
        SpeedCap::PercentOfMaximum { percent } => {
            format!("at most {percent} % of the greatest speed of the train")
        }
        SpeedCap::BelowMaximum { by, not_below } => {
            let (by, not_below) = (km_h(*by), km_h(*not_below));
            format!("{by} below the greatest speed of the train, not below {not_below}")
        }
    }
}
