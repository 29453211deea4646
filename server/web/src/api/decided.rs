//! The answer about a train as programs get it.

use super::beside::{OverdueOnCarBody, WarningBody};
use super::brakes::{BrakeStateBody, StoredBody};
use super::compared::{Compared, EffectBody, EquipmentBody, LostBesidesBody};
use super::forces::ForcesBody;
use super::speeds::{CourseBody, PermittedBody};
use crate::page::decision::answered::Answered;
use crate::page::decision::link::QuestionLink;
use domain::circuit::state::Impairment;
use domain::decision::asked::AskedField;
use domain::decision::{Decision, RuleSetAnswer};
use domain::rule_set::consequence::{CabRestriction, PassengerRestriction};
use domain::rule_set::verdict::{AppliedRule, Imposed, Permission, Verdict};
use domain::worked::{Missing, MissingFact};
use serde::Serialize;
use utoipa::ToSchema;

/// The answer about a train.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DecisionBody {
    /// `as_it_stands`, or of a past time `as_it_stood`; supposed, which decides nothing, `what_if` or `what_if_then`.
    #[schema(example = "as_it_stands")]
    standing: &'static str,
    /// What was asked.
    asked: Vec<QuestionFieldBody>,
    /// The cars, from the first in the direction of travel.
    cars: Vec<TrainCarBody>,
    /// Trains formed later that cars of it are in: those run there, and nothing is decided about it.
    /// Of a past time those that they were in by then.
    pub(super) formed_later: Vec<String>,
    /// What is supposed.
    supposed: Vec<String>,
    /// What is lacking where there is no answer at all; then all that follows is empty.
    missing: Vec<MissingBody>,
    /// What each rule set in force says, the strictest first. No verdict is no permission.
    verdicts: Vec<VerdictBody>,
    /// What must be known beside the verdicts, the gravest first.
    warnings: Vec<WarningBody>,
    /// The cars of which work is overdue, or of which that was not looked at.
    overdue: Vec<OverdueOnCarBody>,
    /// What does not do its work: cut out, failed, missing or supposed so.
    impaired: Vec<ImpairedBody>,
    /// Brake percentage in emergency braking, in per cent.
    brake_percentage: Option<Compared>,
    /// The same once stored air is used up.
    brake_percentage_later: Option<Compared>,
    /// Stopping distances in metres, each method by itself; they are not to be mixed.
    stopping_distances: Vec<Compared>,
    /// The same once stored air is used up, by each method by which that is something else.
    stopping_distances_later: Vec<Compared>,
    /// How the speed falls over the distance, by the methods chosen.
    speed_over_distance: Vec<CourseBody>,
    /// Up to which speed the train stops in time, by gradient and by the methods chosen.
    permitted_speeds: Option<PermittedBody>,
    /// Braked weights, adhesion and heat from forces.
    forces: Option<ForcesBody>,
    /// The gradient that the spring-applied brakes keep, in per mille. The steps say by which
    /// adhesion the force of each axle was limited, or that it was not.
    holding_gradient: Option<Compared>,
    /// What still works in each mode.
    effects: Vec<EffectBody>,
    /// What other places of command reach, where that differs.
    effects_elsewhere: Vec<EffectBody>,
    /// How many of each kind of equipment work.
    equipment: Vec<EquipmentBody>,
    /// What is lost with every brake still applying: load signals, slide protection of axles.
    lost_besides: Vec<LostBesidesBody>,
    /// What each brake must show with nothing commanded and the parking brake released.
    brake_states: Vec<BrakeStateBody>,
    /// Reservoirs that nothing feeds any more: how far their air goes, and where it is drained.
    stored_air: Vec<StoredBody>,
    /// Until when stored air is counted in this; null where that does not end by itself.
    #[schema(format = DateTime)]
    stored_air_counted_until: Option<String>,
    /// What a person must check before this is acted on.
    checks: Vec<CheckBody>,
}

/// A field of the question.
#[derive(Debug, Serialize, ToSchema)]
struct QuestionFieldBody {
    /// Its name.
    #[schema(example = "speed")]
    field: &'static str,
    /// Its value; null where it is not known.
    value: Option<String>,
    /// The unit of its number.
    unit: Option<&'static str>,
    /// Whether nobody gave it and it was assumed.
    assumed: bool,
    /// Why that was assumed; null where it was not, or where the rule sets or the cars alone say so.
    because: Option<&'static str>,
}

/// A car of the train.
#[derive(Debug, Serialize, ToSchema)]
struct TrainCarBody {
    /// Its number.
    number: String,
    /// Which way it stands: `forward` has end 1 in front.
    orientation: &'static str,
    /// Its type.
    car_type: String,
    /// The baseline revision in force for it.
    revision: String,
}

/// A fact that is lacking.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct MissingBody {
    /// What.
    what: String,
    /// Of which thing.
    of: String,
}

impl MissingBody {
    pub(super) fn all(missing: &Missing) -> Vec<Self> {
        let body = |fact: &MissingFact| Self {
            what: fact.what.clone(),
            of: fact.of.clone(),
        };
        missing.0.iter().map(body).collect()
    }
}

/// What a rule set says.
#[derive(Debug, Serialize, ToSchema)]
struct VerdictBody {
    /// The rule set.
    rule_set: String,
    /// Its revision.
    revision: String,
    /// `may_not_run`, `with_restrictions` or `may_run`; null where there is no verdict.
    permission: Option<&'static str>,
    /// Under which restrictions it may run; of a train that may not run only what must be done and
    /// who must be told.
    restrictions: Option<RestrictionsBody>,
    /// The rules that were applied, the strictest first.
    applied: Vec<RuleBody>,
    /// What must be said with the verdict.
    cautions: Vec<String>,
    /// What it says once stored air is used up, where that is something else.
    later: Option<String>,
    /// Why there is no verdict.
    missing: Vec<MissingBody>,
}

/// Restrictions; null is none.
#[derive(Debug, Serialize, ToSchema)]
struct RestrictionsBody {
    /// The greatest speed in whole km/h, rounded down.
    speed_km_h: Option<f64>,
    /// How it came about.
    speed_words: Option<String>,
    /// Where passengers may not be.
    passengers: Option<&'static str>,
    /// From which cab it may be driven: `leading_cab_only`, or
    /// `leading_cab_only_with_the_brake_of_its_vehicle_working`.
    cab: Option<&'static str>,
    /// How far at most, in metres.
    distance_max_m: Option<f64>,
    /// Where to at the furthest.
    destination: Option<String>,
    /// What else must be done.
    conditions: Vec<String>,
    /// Who must be told.
    tell: Vec<String>,
}

impl RestrictionsBody {
    /// Those of a verdict. No speed stands beside a verdict by which a train may not run.
    fn of(verdict: &Verdict) -> Self {
        let all = Self::from(&verdict.restrictions);
        match verdict.permission {
            Permission::MayRun | Permission::WithRestrictions => all,
            Permission::MayNotRun => Self {
                speed_km_h: None,
                speed_words: None,
                passengers: None,
                cab: None,
                distance_max_m: None,
                destination: None,
                ..all
            },
        }
    }
}

impl From<&Imposed> for RestrictionsBody {
    fn from(imposed: &Imposed) -> Self {
        let speed = imposed.speed.as_ref();
        let destination = imposed.destination.as_ref();
        Self {
            speed_km_h: speed.map(|cap| cap.whole_km_h().0),
            speed_words: speed.map(|cap| cap.words.clone()),
            passengers: imposed.passengers.map(PassengerRestriction::name),
            cab: imposed.cab.map(CabRestriction::name),
            distance_max_m: imposed.distance_max.map(|distance| distance.0),
            destination: destination.map(|to| format!("{}: {}", to.kind, to.words)),
            conditions: imposed.conditions.clone(),
            tell: imposed.tell.clone(),
        }
    }
}

/// A rule that was applied.
#[derive(Debug, Serialize, ToSchema)]
struct RuleBody {
    /// What it is about.
    title: String,
    /// Whether the train may run by it.
    permission: &'static str,
    /// Under which restrictions.
    restrictions: RestrictionsBody,
    /// What was found, with the numbers.
    working: String,
    /// Where it comes from.
    source: String,
}

impl From<&AppliedRule> for RuleBody {
    fn from(applied: &AppliedRule) -> Self {
        Self {
            title: applied.title.clone(),
            permission: applied.permission.name(),
            restrictions: (&applied.restrictions).into(),
            working: applied.working.clone(),
            source: applied.source.to_string(),
        }
    }
}

impl From<&RuleSetAnswer> for VerdictBody {
    fn from(answer: &RuleSetAnswer) -> Self {
        let verdict = answer.verdict.as_ref().map(|worked| &worked.value).ok();
        let missing = answer.verdict.as_ref().err();
        Self {
            rule_set: answer.name.to_string(),
            revision: answer.revision.to_string(),
            permission: verdict.map(|verdict| verdict.permission.name()),
            restrictions: verdict.map(RestrictionsBody::of),
            applied: verdict.map_or(Vec::new(), |verdict| {
                verdict.applied.iter().map(RuleBody::from).collect()
            }),
            cautions: verdict.map_or(Vec::new(), |verdict| verdict.cautions.clone()),
            later: answer.later_in_full(),
            missing: missing.map_or(Vec::new(), MissingBody::all),
        }
    }
}

/// A position that does not do its work.
#[derive(Debug, Serialize, ToSchema)]
struct ImpairedBody {
    /// The car.
    car: String,
    /// The position.
    position: String,
    /// The state of the cut-out, `vacant` where no component is fitted, or `incomplete` where an
    /// assembly is in which something that it needs is missing.
    #[schema(example = "closed_vented")]
    state: &'static str,
}

/// Something to check.
#[derive(Debug, Serialize, ToSchema)]
struct CheckBody {
    /// What to do or to see.
    text: String,
    /// Where the check comes from.
    source: String,
}

impl DecisionBody {
    /// The body of an answer.
    pub(super) fn new(answered: &Answered, link: &QuestionLink) -> Self {
        let answer = &answered.answer;
        let decision = answer.decision.as_ref();
        let found = decision.ok();
        Self {
            standing: link.standing_name(),
            asked: AskedField::ALL
                .iter()
                .map(|field| asked(answered, *field))
                .collect(),
            cars: answered.cars.iter().map(TrainCarBody::from).collect(),
            formed_later: Vec::new(),
            supposed: link.supposed.iter().map(ToString::to_string).collect(),
            missing: decision.err().map_or(Vec::new(), MissingBody::all),
            verdicts: found.map_or(Vec::new(), verdicts),
            warnings: found.map_or(Vec::new(), WarningBody::all),
            overdue: found.map_or(Vec::new(), OverdueOnCarBody::all),
            impaired: found.map_or(Vec::new(), |decision| impaired(answered, decision)),
            brake_percentage: found.map(|decision| Compared::percentage(&decision.percentage)),
            brake_percentage_later: found
                .map(|decision| Compared::percentage(&decision.percentage_later)),
            stopping_distances: found.map_or(Vec::new(), |decision| {
                decision.stopping.iter().map(Compared::stopping).collect()
            }),
            stopping_distances_later: found.map_or(Vec::new(), |decision| {
                let later = decision.stopping_later.iter();
                later.map(Compared::stopping).collect()
            }),
            speed_over_distance: found.map_or(Vec::new(), |decision| {
                let chosen = link.shown.chosen(&decision.stopping);
                CourseBody::all(&chosen, &decision.way)
            }),
            permitted_speeds: found.map(|decision| {
                let chosen = link.shown.chosen(&decision.stopping);
                PermittedBody::of(&chosen, decision)
            }),
            forces: found.map(ForcesBody::of),
            holding_gradient: found.map(|decision| Compared::holding(&decision.holding)),
            effects: found.map_or(Vec::new(), |decision| EffectBody::all(&decision.effects)),
            effects_elsewhere: found
                .map_or(Vec::new(), |decision| EffectBody::all(&decision.elsewhere)),
            equipment: found.map_or(Vec::new(), EquipmentBody::all),
            lost_besides: found.map_or(Vec::new(), LostBesidesBody::all),
            brake_states: found.map_or(Vec::new(), BrakeStateBody::all),
            stored_air: answer
                .stored_air(&link.supposed)
                .iter()
                .map(StoredBody::from)
                .collect(),
            stored_air_counted_until: found
                .and_then(|decision| decision.counted_until)
                .map(|until| until.to_string()),
            checks: found.map_or(Vec::new(), checks),
        }
    }
}

fn asked(answered: &Answered, field: AskedField) -> QuestionFieldBody {
    let value = answered.answer.words.text(field);
    QuestionFieldBody {
        field: field.name(),
        value: (!value.is_empty()).then(|| value.to_owned()),
        unit: field.unit(),
        assumed: answered.answer.assumed.contains(&field),
        because: answered.answer.because(field),
    }
}

impl From<&store::read::formations::CarInTrain> for TrainCarBody {
    fn from(car: &store::read::formations::CarInTrain) -> Self {
        Self {
            number: car.place.car.to_string(),
            orientation: car.place.orientation.name(),
            car_type: car.record.car.car_type.to_string(),
            revision: car.record.car.revision.to_string(),
        }
    }
}

fn verdicts(decision: &Decision) -> Vec<VerdictBody> {
    let sorted = decision.strictest_first();
    sorted.into_iter().map(VerdictBody::from).collect()
}

fn impaired(answered: &Answered, decision: &Decision) -> Vec<ImpairedBody> {
    let body = |one: &domain::circuit::state::Impaired| ImpairedBody {
        car: answered
            .cars
            .get(one.car)
            .map_or(String::new(), |car| car.place.car.to_string()),
        position: one.position.to_string(),
        state: match one.by {
            Impairment::CutOut(state) => state.name(),
            Impairment::Vacant => "vacant",
            Impairment::Incomplete => "incomplete",
            Impairment::Emptied => "emptied",
        },
    };
    decision.impaired.iter().map(body).collect()
}

fn checks(decision: &Decision) -> Vec<CheckBody> {
    let body = |check: &domain::decision::checks::Check| CheckBody {
        text: check.text.clone(),
        source: check.source.to_string(),
    };
    decision.checks.iter().map(body).collect()
}
