//! What the brakes are worth as forces: braked weights beside the assessed ones, adhesion and
//! heat against their limits.

use domain::configuration::brake_forces::{ActsOn, DemandSharing};
use domain::decision::Decision;
use domain::decision::answer::Answer;
use domain::decision::forces::limits::{Asked, AxleAdhesion, GroupHeat, Limits};
use domain::decision::forces::{Forces, TypeBrakedWeight};
use domain::decision::performance::{Compared, performance};
use domain::units::{Kilograms, Megajoules, Thousandths};
use domain::worked::{MissingFact, Step};

/// The forces of a train, or what is lacking for them.
#[derive(Debug, Default)]
pub(crate) struct ForceFindings {
    pub(crate) weights: Vec<WeightRow>,
    /// The braked weights in one line, for paper.
    pub(crate) weights_line: String,
    /// Adhesion and heat of what is asked most.
    pub(crate) most: Vec<LimitRow>,
    /// The same of every car.
    pub(crate) cars: Vec<LimitRow>,
    /// Which of the two cases holds.
    pub(crate) sharing: &'static str,
    /// The sound train beside what the law asks of new units.
    pub(crate) performance: Vec<Compared>,
    pub(crate) steps: Vec<(String, Vec<Step>)>,
    pub(crate) missing: Vec<MissingFact>,
    pub(crate) limits_missing: Vec<MissingFact>,
}

/// A braked weight from forces beside the assessed one.
#[derive(Debug)]
pub(crate) struct WeightRow {
    pub(crate) of: String,
    pub(crate) force: String,
    pub(crate) from_forces: String,
    pub(crate) assessed: String,
    pub(crate) share: String,
}

/// A figure in three cases beside its limit.
#[derive(Debug)]
pub(crate) struct LimitRow {
    pub(crate) what: String,
    /// With nothing cut out; as it is, each brake as before; as it is, shared out anew.
    pub(crate) used: [Judged; 3],
    pub(crate) limit: String,
}

/// A figure, and whether it passes its limit.
#[derive(Debug)]
pub(crate) struct Judged {
    pub(crate) text: String,
    pub(crate) above: bool,
}

impl ForceFindings {
    pub(crate) fn of(answer: &Answer, decision: &Decision) -> Self {
        match &decision.forces {
            Ok(forces) => Self {
                performance: compared(answer, decision),
                ..Self::known(forces)
            },
            Err(missing) => Self {
                missing: missing.0.clone(),
                ..Self::default()
            },
        }
    }

    fn known(forces: &Forces) -> Self {
        let weights = forces.braked_weights.iter().flat_map(weight_rows).collect();
        let line = forces.braked_weights.iter().map(weight_words);
        let line: Vec<String> = line.collect();
        let named = |of: &TypeBrakedWeight| {
            let what = format!("Braked weight of {} from forces", of.car_type);
            (what, of.from_forces.steps.clone())
        };
        let mut found = Self {
            weights,
            weights_line: line.join("; "),
            steps: forces.braked_weights.iter().map(named).collect(),
            ..Self::default()
        };
        match &forces.limits {
            Ok(worked) => {
                let limits = &worked.value;
                found.most = most(limits);
                found.cars = by_car(limits);
                found.sharing = sharing_words(limits.sharing);
                let what = "Adhesion and heat".to_owned();
                found.steps.push((what, worked.steps.clone()));
            }
            Err(missing) => found.limits_missing.clone_from(&missing.0),
        }
        found
    }
}

/// Nothing where the question cannot be read.
fn compared(answer: &Answer, decision: &Decision) -> Vec<Compared> {
    let asked = answer.words.read().ok();
    let case = asked.and_then(|asked| asked.brake_position.zip(asked.load));
    let found = case.map(|case| performance(&answer.cars, case, decision));
    found.and_then(Result::ok).unwrap_or_default()
}

fn sharing_words(sharing: Option<DemandSharing>) -> &'static str {
    match sharing {
        Some(DemandSharing::NotShared) => {
            "The car types say that each brake goes on as before: that column holds."
        }
        Some(DemandSharing::OverTheTrain) => {
            "The car types say that the demand is shared out anew over the train: that column holds."
        }
        None => "The car types do not agree, or do not say, which of the two columns holds.",
    }
}

fn kilograms(of: Option<Kilograms>) -> String {
    of.map_or("not assessed".to_owned(), |weight| weight.to_string())
}

fn share(found: Kilograms, assessed: Option<Kilograms>) -> String {
    let assessed = assessed.filter(|assessed| assessed.0 > 0);
    assessed.map_or(String::new(), |assessed| {
        format!("{:.1} %", 100.0 * found.tonnes() / assessed.tonnes())
    })
}

fn weight_words(of: &TypeBrakedWeight) -> String {
    let (found, assessed) = (of.from_forces.value, kilograms(of.assessed));
    format!("{} {found} of {assessed}", of.car_type)
}

fn weight_rows(of: &TypeBrakedWeight) -> Vec<WeightRow> {
    let mut rows = vec![WeightRow {
        of: format!("{} revision {}, whole car", of.car_type, of.revision),
        force: String::new(),
        from_forces: of.from_forces.value.to_string(),
        assessed: kilograms(of.assessed),
        share: share(of.from_forces.value, of.assessed),
    }];
    rows.extend(of.groups.iter().map(|group| WeightRow {
        of: format!("{}: {}", of.car_type, group.name),
        force: format!("{} of {:.2} each", group.actuators, group.each),
        from_forces: group.from_forces.to_string(),
        assessed: kilograms(group.assessed),
        share: share(group.from_forces, group.assessed),
    }));
    rows
}

/// How near a figure is to its limit, so that the nearest can be found; without a limit it is
/// judged by itself.
fn nearness(used: f64, limit: Option<f64>) -> f64 {
    used / limit.filter(|limit| *limit > 0.0).unwrap_or(1.0)
}

fn worst<'a, T>(of: impl Iterator<Item = &'a T>, key: impl Fn(&T) -> f64) -> Option<&'a T> {
    of.max_by(|one, other| key(one).total_cmp(&key(other)))
}

fn axle_key(axle: &AxleAdhesion) -> f64 {
    nearness(axle.used.shared, axle.limit.map(Thousandths::real))
}

fn heat_key(heat: &GroupHeat) -> f64 {
    nearness(heat.each.shared.0, heat.limit.map(|limit| limit.0))
}

/// The axle and the discs that come nearest to their limit.
fn most(limits: &Limits) -> Vec<LimitRow> {
    let axle = worst(limits.axles.iter(), axle_key).map(axle_row);
    let heat = worst(limits.heat.iter(), heat_key).map(heat_row);
    axle.into_iter().chain(heat).collect()
}

/// The axle of each car that comes nearest, and each group.
fn by_car(limits: &Limits) -> Vec<LimitRow> {
    let same_car = |one: &AxleAdhesion, other: &AxleAdhesion| one.car == other.car;
    let cars = limits.axles.chunk_by(same_car);
    let axles = cars.filter_map(|car| worst(car.iter(), axle_key).map(axle_row));
    axles.chain(limits.heat.iter().map(heat_row)).collect()
}

fn judged(text: String, used: f64, limit: Option<f64>) -> Judged {
    let above = limit.is_some_and(|limit| used > limit);
    Judged { text, above }
}

fn axle_row(axle: &AxleAdhesion) -> LimitRow {
    let limit = axle.limit.map(Thousandths::real);
    let adhesion = |used: f64| judged(format!("{used:.3}"), used, limit);
    let Asked {
        before,
        not_shared,
        shared,
    } = axle.used;
    LimitRow {
        what: format!("adhesion used, car {} axle {}", axle.car, axle.axle),
        used: [before, not_shared, shared].map(adhesion),
        limit: limit.map_or("not known".to_owned(), |limit| format!("{limit:.3}")),
    }
}

fn heat_row(heat: &GroupHeat) -> LimitRow {
    let limit = heat.limit.map(|limit| limit.0);
    let energy = |used: Megajoules| judged(format!("{used:.2}"), used.0, limit);
    let Asked {
        before,
        not_shared,
        shared,
    } = heat.each;
    let each = match heat.acts_on {
        ActsOn::Disc { .. } => "disc",
        ActsOn::Tread => "wheel",
    };
    let (car, group) = (&heat.car, &heat.group);
    LimitRow {
        what: format!("heat into each {each} in one stop, car {car}, {group}"),
        used: [before, not_shared, shared].map(energy),
        limit: heat
            .limit
            .map_or("not known".to_owned(), |limit| format!("{limit:.2}")),
    }
}
