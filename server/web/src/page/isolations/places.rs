//! Where cut-outs are shown on the board: with their train, else their unit, else by their car;
//! and what each rule set says of it.

use super::age::{Age, age};
use crate::address;
use crate::as_at::AsAtQuery;
use crate::page::decision::answered::train_cars;
use crate::page::decision::beside::WarningRow;
use crate::page::decision::decided::{DecidedLine, last, line};
use crate::page::decision::follow::followed;
use crate::page::decision::verdicts::{in_one_line, mark};
use crate::state::WebState;
use domain::configuration::car::{Orientation, Train, Vehicle};
use domain::decision::answer::answer;
use domain::decision::asked::{AskedField, Words};
use domain::decision::follow_up::follow_up;
use domain::decision::{RuleSetAnswer, Urgency, counted_until};
use domain::identity::{CarNumber, TrainId, UnitNumber};
use domain::ledger::dossier::{DecisionRecord, Documents, Formed};
use domain::ledger::entry::Seq;
use domain::rule_set::RuleSet;
use domain::time::Instant;
use domain::worked::Missing;
use std::collections::{BTreeMap, HashMap};
use store::read::board::InForce;
use store::read::decisions::ToldAfter;
use store::read::formations::{CarInTrain, NotFound};

/// A train, or a unit or car that is in no train, with its cut-outs; of a train on which one ended, none.
pub(super) struct Place {
    /// Its name on the page, the same when the board is made anew.
    pub(super) id: String,
    pub(super) title: String,
    pub(super) href: String,
    pub(super) cut_outs: Vec<CutOutRow>,
    /// What is said of it, or what is lacking for that.
    pub(super) said: Result<Said, String>,
    /// Who decided about it, where it is a train.
    pub(super) decided: Option<DecidedLine>,
}

impl Place {
    /// How urgent what the rule sets say of it is.
    pub(super) fn urgency(&self) -> Urgency {
        let said = self.said.as_ref();
        said.map_or(Urgency::NoVerdict, |said| said.urgency)
    }

    /// Until when stored air is counted in what is said of it.
    pub(super) fn counted_until(&self) -> Option<Instant> {
        self.said.as_ref().ok()?.counted_until
    }
}

/// What the register knows of a place.
pub(super) struct Known<'d> {
    pub(super) cars: Result<Vec<CarInTrain>, NotFound>,
    /// The entry that formed it, where it is a train.
    pub(super) formed_by: Option<Seq>,
    /// The last decisions about all trains and with all cars, the newest first.
    pub(super) decisions: &'d [DecisionRecord],
    /// Who told everybody of them.
    pub(super) told: &'d HashMap<Seq, ToldAfter>,
}

/// What the rule sets say of a place.
pub(super) struct Said {
    /// What was assumed for that.
    pub(super) assumed: String,
    /// How urgent the strictest of them is.
    pub(super) urgency: Urgency,
    pub(super) verdicts: Vec<VerdictLine>,
    /// What must be known beside the verdicts.
    pub(super) warnings: Vec<WarningRow>,
    /// Until when stored air is counted in that; none where that does not end by itself.
    counted_until: Option<Instant>,
    /// The same in words.
    pub(super) counted_words: Option<String>,
    /// How many checks after its cut-outs are open, of how many.
    pub(super) open_checks: (usize, usize),
}

/// A cut-out in force.
pub(super) struct CutOutRow {
    pub(super) car: String,
    pub(super) unit: String,
    pub(super) code: String,
    pub(super) position: String,
    pub(super) title: String,
    pub(super) state: String,
    pub(super) cause: String,
    pub(super) age: Age,
    pub(super) end: String,
    pub(super) restate: String,
    pub(super) entry: String,
}

/// What a rule set says, in one line.
pub(super) struct VerdictLine {
    pub(super) class: &'static str,
    pub(super) mark: &'static str,
    pub(super) headline: &'static str,
    pub(super) says: String,
    /// What it says once stored air is used up, where that is something else.
    pub(super) later: Option<String>,
    pub(super) rule_set: String,
}

/// Where a cut-out is shown: with its train, else its unit, else by its car.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Key {
    Train(TrainId),
    Unit(UnitNumber),
    Car(CarNumber),
}

impl Key {
    fn of(in_force: &InForce) -> Self {
        match (&in_force.train, &in_force.unit) {
            (Some(train), _) => Self::Train(train.clone()),
            (None, Some(unit)) => Self::Unit(unit.clone()),
            (None, None) => Self::Car(in_force.isolation.cut_out.at.car.clone()),
        }
    }

    /// The train, if it is one.
    pub(super) fn train(&self) -> Option<&TrainId> {
        match self {
            Self::Train(train) => Some(train),
            Self::Unit(_) | Self::Car(_) => None,
        }
    }

    fn id(&self) -> String {
        match self {
            Self::Train(train) => format!("train-{}", address::encoded(train)),
            Self::Unit(unit) => format!("unit-{}", address::encoded(unit)),
            Self::Car(car) => format!("car-{}", address::encoded(car)),
        }
    }

    fn title(&self) -> String {
        match self {
            Self::Train(train) => format!("Train {train}"),
            Self::Unit(unit) => format!("Unit {unit}, in no train"),
            Self::Car(car) => format!("Car {car}, in no unit and no train"),
        }
    }

    fn href(&self) -> String {
        match self {
            Self::Train(train) => address::train(train),
            Self::Unit(unit) => address::formation(unit),
            Self::Car(car) => address::formation(car),
        }
    }

    /// What it is made of.
    pub(super) fn vehicles(&self, trains: &[Formed<Train>]) -> Vec<Vehicle> {
        let forward = Orientation::Forward;
        match self {
            Self::Train(id) => {
                let train = trains.iter().find(|train| train.formation.id == *id);
                train.map_or(Vec::new(), |train| train.formation.vehicles.clone())
            }
            Self::Unit(unit) => vec![Vehicle::Unit(unit.clone(), forward)],
            Self::Car(car) => vec![Vehicle::Car(car.clone(), forward)],
        }
    }
}

/// The cut-outs of one place.
pub(super) type Group = (Key, Vec<InForce>);

/// The cut-outs by place, the places in the order of their oldest cut-out.
pub(super) fn groups(board: Vec<InForce>) -> Vec<Group> {
    let mut place_of: BTreeMap<Key, usize> = BTreeMap::new();
    let mut groups: Vec<Group> = Vec::new();
    for in_force in board {
        let key = Key::of(&in_force);
        let place = *place_of.entry(key.clone()).or_insert_with(|| {
            groups.push((key, Vec::new()));
            groups.len() - 1
        });
        groups[place].1.push(in_force);
    }
    groups
}

/// The same with trains on which no cut-out is in force any more.
pub(super) fn with_ended(
    mut groups: Vec<Group>,
    ended: impl Iterator<Item = TrainId>,
) -> Vec<Group> {
    for train in ended {
        let key = Key::Train(train);
        if groups.iter().all(|(known, _)| *known != key) {
            groups.push((key, Vec::new()));
        }
    }
    groups
}

/// What is needed to tell of a place.
pub(super) struct Telling<'a> {
    pub(super) documents: &'a Documents,
    pub(super) rule_sets: Vec<&'a RuleSet>,
    pub(super) state: &'a WebState,
}

impl Telling<'_> {
    /// Tells of a place.
    pub(super) fn place(&self, (key, cut_outs): Group, known: Known<'_>) -> Place {
        let cars = known.cars.as_deref().unwrap_or_default();
        let rows = cut_outs
            .iter()
            .map(|in_force| self.row(in_force, cars))
            .collect();
        let everybody = known.told;
        let decided = key.train().zip(known.formed_by);
        let decided = decided.and_then(|(train, formed_by)| {
            Some((train, last(known.decisions, (train, formed_by))?))
        });
        let standing = decided
            .filter(|(train, record)| record.taken.train == **train && record.void.is_none());
        let standing = standing.map(|(_, record)| record.id);
        let clock = (&self.state.zone, self.state.now());
        let decided = decided.map(|(train, record)| {
            let mut line = line(record, train, &self.rule_sets, clock);
            line.tell(everybody.get(&record.id), clock.0);
            line.doubt(record.id, cars);
            line
        });
        let said = self.said(&key, known, standing);
        let said = said.map_err(|missing| facts(&missing));
        Place {
            id: key.id(),
            title: key.title(),
            href: key.href(),
            cut_outs: rows,
            said,
            decided,
        }
    }

    fn said(&self, key: &Key, known: Known<'_>, decided: Option<Seq>) -> Result<Said, Missing> {
        let placed = known.cars;
        let placed = placed.map_err(|lost| Missing::one(lost.to_string(), key.title()))?;
        let cars = train_cars(&placed, self.documents, self.state.today());
        let answered = answer(
            Words::default(),
            cars,
            Vec::new(),
            (&self.rule_sets, self.state.when()),
        );
        let answered = answered.map_err(|why| Missing::one(why.expected, key.title()))?;
        let assumed = |field: &AskedField| {
            let text = answered.words.text(*field).replace('_', " ");
            match (field.unit(), answered.because(*field)) {
                (Some(unit), _) => format!("{field} {text} {unit}"),
                (None, Some(because)) => format!("{field} {text} ({because})"),
                (None, None) => format!("{field} {text}"),
            }
        };
        let assumed: Vec<String> = answered.assumed.iter().map(assumed).collect();
        let decision = answered.decision?;
        let verdicts = decision.strictest_first().into_iter().map(verdict_line);
        let followed = followed(&placed, known.formed_by, decided);
        let checks = follow_up(&decision.checks, &followed);
        let open = checks.iter().filter(|check| check.done.is_open()).count();
        Ok(Said {
            assumed: assumed.join(", "),
            urgency: decision.urgency(),
            verdicts: verdicts.collect(),
            counted_until: decision.counted_until,
            counted_words: decision
                .counted_until
                .map(|until| counted_until(until, &self.state.zone)),
            open_checks: (open, checks.len()),
            warnings: WarningRow::all(&decision, &AsAtQuery::default()),
        })
    }

    fn row(&self, in_force: &InForce, cars: &[CarInTrain]) -> CutOutRow {
        let isolation = &in_force.isolation;
        let at = &isolation.cut_out.at;
        let car = cars.iter().find(|car| car.place.car == at.car);
        let car_type =
            car.and_then(|car| self.documents.car_type(&car.record.car, self.state.today()));
        let position = car_type.and_then(|car_type| car_type.position(&at.position));
        CutOutRow {
            car: at.car.to_string(),
            unit: in_force
                .unit
                .as_ref()
                .map_or(String::new(), ToString::to_string),
            code: at.position.to_string(),
            position: address::position(at),
            title: position.map_or(String::new(), |position| position.title.clone()),
            state: isolation.cut_out.state.to_string(),
            cause: isolation.cut_out.cause.clone(),
            age: age(isolation, &self.state.zone, self.state.now()),
            end: address::end_isolation(at),
            restate: address::record_as(at, ""),
            entry: address::entry(isolation.id),
        }
    }
}

/// What is lacking, in one line.
fn facts(missing: &Missing) -> String {
    let facts = missing.0.iter();
    let facts = facts.map(|fact| format!("{} of {}", fact.what, fact.of));
    facts.collect::<Vec<_>>().join("; ")
}

fn verdict_line(answer: &RuleSetAnswer) -> VerdictLine {
    let rule_set = format!("{} {}", answer.name, answer.revision);
    match &answer.verdict {
        Ok(worked) => VerdictLine {
            class: worked.value.permission.name(),
            mark: mark(worked.value.permission),
            headline: worked.value.permission.headline(),
            says: in_one_line(&worked.value),
            later: answer.later_words(),
            rule_set,
        },
        Err(missing) => VerdictLine {
            class: "no_verdict",
            mark: "?",
            headline: "No verdict",
            says: format!("missing: {}", facts(missing)),
            later: answer.later_words(),
            rule_set,
        },
    }
}
