//! Brake percentage, stopping distances and holding gradient, before and after the cut-outs.

use domain::braking::stopping_distance::{Stop, StoppingDistance};
use domain::configuration::car_type::PositionKind;
use domain::decision::{Decision, FromLower, Holding, StoppingPair};
use domain::isolation::brake_percentage::BrakePercentage;
use domain::rule_set::facts::Operative;
use domain::units::Gradient;
use domain::worked::{Missing, MissingFact, Step, Worked};
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// A figure before and after, with its steps; or what is lacking for it.
#[derive(Debug)]
pub(crate) struct Figure {
    pub(crate) name: String,
    pub(crate) before: String,
    pub(crate) after: String,
    pub(crate) difference: String,
    /// `complete` where nothing changes, else `lost`.
    pub(crate) class: &'static str,
    pub(crate) steps: Vec<Step>,
    pub(crate) missing: Vec<MissingFact>,
}

impl Figure {
    fn lacking(name: impl Into<String>, missing: &Missing) -> Self {
        Self {
            name: name.into(),
            before: String::new(),
            after: String::new(),
            difference: String::new(),
            class: "missing",
            steps: Vec::new(),
            missing: missing.0.clone(),
        }
    }
}

fn class(same: Ordering) -> &'static str {
    match same {
        Ordering::Equal => "complete",
        _ => "lost",
    }
}

/// How something changed, where it did.
fn changed(compared: Ordering, how: impl Fn() -> String) -> String {
    match compared {
        Ordering::Equal => "none".to_owned(),
        Ordering::Less | Ordering::Greater => how(),
    }
}

/// The brake percentage now, and once stored air is used up.
pub(crate) fn percentages(decision: &Decision) -> Vec<Figure> {
    vec![
        percentage("now", &decision.percentage),
        percentage("once stored air is used up", &decision.percentage_later),
    ]
}

fn percentage(when: &str, found: &Result<Worked<BrakePercentage>, Missing>) -> Figure {
    let worked = match found {
        Ok(worked) => worked,
        Err(missing) => return Figure::lacking(when, missing),
    };
    let BrakePercentage { before, after } = worked.value;
    // Of the figures as shown, so that the row can be checked by hand.
    let hundredths = before.hundredths() - after.hundredths();
    Figure {
        name: when.to_owned(),
        before: before.to_string(),
        after: after.to_string(),
        difference: changed(before.cmp(&after), || {
            let (points, rest) = (hundredths / 100, hundredths % 100);
            format!("−{points}.{rest:02} percentage points")
        }),
        class: class(before.cmp(&after)),
        steps: worked.steps.clone(),
        missing: Vec::new(),
    }
}

/// The stopping distances, each method by itself; where it has no answer from the speed asked for,
/// those from lower speeds that it has beside.
pub(crate) fn stopping(decision: &Decision) -> Vec<Figure> {
    let rows = |pair: &StoppingPair| {
        let lower = pair.from_lower_speeds(&decision.way);
        let lower: Vec<Figure> = lower.iter().map(|one| from_lower(pair, one)).collect();
        let mut later = decision.stopping_later.iter();
        let later = later.find(|later| later.method == pair.method);
        let later = later.map(|later| {
            let name = format!("{}, once stored air is used up", pair.method.label());
            stop(name, later)
        });
        let now = stop(pair.method.label().to_owned(), pair);
        std::iter::once(now).chain(lower).chain(later)
    };
    decision.stopping.iter().flat_map(rows).collect()
}

fn stop(name: String, pair: &StoppingPair) -> Figure {
    match (&pair.before.distance, &pair.after.distance) {
        (Ok(before), Ok(after)) => distances(name, before, after),
        (Err(missing), _) | (_, Err(missing)) => Figure::lacking(name, missing),
    }
}

fn from_lower(pair: &StoppingPair, lower: &FromLower) -> Figure {
    let FromLower {
        from,
        before,
        after,
    } = lower;
    let name = format!(
        "{}, from {from:.0} only: not the speed asked for",
        pair.method.label()
    );
    distances(name, before, after)
}

fn distances(
    name: String,
    before: &Worked<StoppingDistance>,
    after: &Worked<StoppingDistance>,
) -> Figure {
    let compared = if before.value.stop == after.value.stop {
        Ordering::Equal
    } else {
        Ordering::Less
    };
    Figure {
        name,
        before: before.value.stop.to_string(),
        after: after.value.stop.to_string(),
        difference: changed(compared, || longer(before.value, after.value)),
        class: class(compared),
        steps: both(&before.steps, &after.steps),
        missing: Vec::new(),
    }
}

fn longer(before: StoppingDistance, after: StoppingDistance) -> String {
    match (before.stop, after.stop) {
        (Stop::After(before), Stop::After(after)) => {
            let more = after.0 - before.0;
            let share = 100.0 * more / before.0;
            format!("+{more:.1} m (+{share:.1} %)")
        }
        (Stop::After(_), Stop::Never) => "no longer stops".to_owned(),
        (Stop::Never, _) => "does not stop either way".to_owned(),
    }
}

/// The steps of both, each saying to which it belongs.
fn both(before: &[Step], after: &[Step]) -> Vec<Step> {
    let named = |when: &'static str| {
        move |step: &Step| Step {
            what: format!("{when}: {}", step.what),
            ..step.clone()
        }
    };
    let before = before.iter().map(named("before"));
    before.chain(after.iter().map(named("after"))).collect()
}

/// The gradient that the spring-applied brakes keep.
pub(crate) fn holding(found: &Result<Holding, Missing>) -> Figure {
    let name = "gradient that the spring-applied brakes keep";
    let Holding {
        before,
        after,
        adhesion,
        ..
    } = match found {
        Ok(holding) => holding,
        Err(missing) => return Figure::lacking(name, missing),
    };
    let limited = match adhesion {
        Some(adhesion) => format!("each axle by an adhesion of at most {adhesion}"),
        None => "not limited by adhesion: none is given".to_owned(),
    };
    let (Gradient(full), Gradient(left)) = (before.value, after.value);
    Figure {
        name: format!("{name}, {limited}"),
        before: before.value.to_string(),
        after: after.value.to_string(),
        difference: changed(full.total_cmp(&left), || format!("−{:.1} ‰", full - left)),
        class: class(full.total_cmp(&left)),
        steps: both(&before.steps, &after.steps),
        missing: Vec::new(),
    }
}

/// Equipment of which there may be more than is needed.
#[derive(Debug)]
pub(crate) struct Equipment {
    pub(crate) name: String,
    pub(crate) works: String,
    pub(crate) class: &'static str,
}

/// What is counted because some of it may be spare.
const REDUNDANT: [PositionKind; 2] = [PositionKind::Compressor, PositionKind::AirDryer];

/// How many of each kind work.
pub(crate) fn equipment(counts: &BTreeMap<PositionKind, Operative>) -> Vec<Equipment> {
    let one = |kind: &PositionKind| {
        let count = counts.get(kind)?;
        Some(Equipment {
            name: kind.to_string(),
            works: format!("{} of {}", count.operative(), count.total()),
            class: if count.out() == 0 { "complete" } else { "lost" },
        })
    };
    REDUNDANT.iter().filter_map(one).collect()
}
