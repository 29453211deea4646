//! Evidence holds. While one lasts, nothing is recorded that moves, opens, tests, scraps or
//! amends what it holds, whenever that is said to have happened; only whoever set it lifts it alone.
//!
//! Three things are still taken down on a held car, since they change nothing on it and somebody
//! may come to harm without them: a cut-out as it is found, that a check was made, and what a
//! meter shows. A train with a held car is still formed and decided about: a car that must leave
//! the line is hauled by somebody who needs to know its brakes.

use super::evidence;
use crate::configuration::component::{ComponentRef, PositionRef, Subject};
use crate::configuration::held::Held;
use crate::configuration::host::{Host, HostPosition};
use crate::configuration::plate::PlateChange;
use crate::identity::{CarNumber, PositionCode};
use crate::ledger::command::Command;
use crate::ledger::dossier::{Dossier, HoldRecord};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::{Confirmation, CutOut, Fact, Relocation};
use crate::people::{Actor, Authority};
use crate::refusal::Refusal;
use crate::time::Instant;
use std::borrow::Cow;

/// What a fact would do something to.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Touch {
    /// A component: with it moves what is inside it, and what it is inside of is opened.
    Component(ComponentRef),
    /// A place, which is opened: of a car, or of an assembly.
    Place(HostPosition),
    /// What is at a place of a car, where it stands.
    Set(PositionRef),
    /// A car as a whole, but nothing on it.
    Car(CarNumber),
    /// A car with all that is on it.
    CarAndAllOnIt(CarNumber),
    /// A car's record of use, at a moment that may be before the hold.
    Use(CarNumber),
}

/// Whether a fact is recorded anew, or one that was recorded is taken back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Act {
    Records,
    Amends,
}

/// Checks that a command touches nothing that is held, nor what must be held first. Cost: the holds
/// in the dossier, which are few, times what the command touches.
pub(super) fn check(dossier: &Dossier, actor: &Actor, command: &Command) -> Result<(), Refusal> {
    // A correction may say that it was no evidence; of history not every hold may be known.
    let by_person = actor.authority == Authority::Own && command.corrects.is_none();
    if dossier.holds.is_empty() && !by_person {
        return Ok(());
    }
    if let Some(target) = command.corrects {
        let holds = dossier.holds.values();
        let mut held = holds.filter(|hold| hold.in_force() && hold.holds_entry(target));
        if let Some(hold) = held.next() {
            return Err(refused(hold));
        }
        if let Some((entry, _)) = dossier.corrected.get(&target) {
            untouched(dossier, (&entry.fact, Act::Amends), entry.effective_at)?;
        }
    }
    let fact = match &command.fact {
        Fact::Proposed(proposal) => Cow::Owned(proposal.fact()),
        fact => dossier.made_true(fact),
    };
    let at = command.effective_at;
    untouched(dossier, (&fact, Act::Records), at)?;
    let touched = touches(dossier, &fact, Act::Records).into_iter();
    let touched = touched.filter(|_| by_person);
    let mut reached = touched.flat_map(|touch| Reached::by(dossier, &touch, at).components);
    reached.try_for_each(|component| evidence::awaits_no_hold(dossier, &component))
}

fn untouched(dossier: &Dossier, (fact, act): (&Fact, Act), at: Instant) -> Result<(), Refusal> {
    for touch in touches(dossier, fact, act) {
        let reached = Reached::by(dossier, &touch, at);
        let mut holds = dossier.holds.values();
        let hold = holds.find(|hold| match &touch {
            Touch::Use(car) if act == Act::Records => {
                hold.in_force() && hold.is_on(car) && at < hold.since
            }
            _ => hold.forbids_at(at) && reached.holds(hold),
        });
        if let Some(hold) = hold {
            return Err(refused(hold));
        }
    }
    Ok(())
}

fn refused(hold: &HoldRecord) -> Refusal {
    match hold.lifted {
        None => Refusal::HeldAsEvidence {
            held: Box::new(hold.held.clone()),
            by: hold.id,
            since: hold.since.into(),
            set_by: hold.by.clone(),
        },
        Some((lifted, _)) => Refusal::Contradicts {
            what: format!(
                "what happened to {} while it was held as evidence until {lifted}",
                hold.held
            ),
            by: hold.id,
            since: hold.since.into(),
            allowed: "give a time before the hold or after it was lifted",
        },
    }
}

/// What a fact would do something to. The match is complete, so that whoever adds a fact decides.
fn touches(dossier: &Dossier, fact: &Fact, act: Act) -> Vec<Touch> {
    match fact {
        Fact::Isolated(CutOut { at, .. }) | Fact::CheckConfirmed(Confirmation { at, .. })
            if act == Act::Amends =>
        {
            vec![Touch::CarAndAllOnIt(at.car.clone())]
        }
        Fact::Isolated(_)
        | Fact::CheckConfirmed(_)
        | Fact::CarTypeDefined(_)
        | Fact::RevisionEffective(_)
        | Fact::ConcessionGranted(_)
        | Fact::ConcessionProlonged { .. }
        | Fact::ConcessionWithdrawn { .. }
        | Fact::ModificationIssued(_)
        | Fact::LocationDefined(_)
        | Fact::PartDefined(_)
        | Fact::TaskDefined(_)
        | Fact::ProcedureDefined(_)
        | Fact::RuleSetIssued(_)
        | Fact::TrainFormed(_)
        | Fact::DecisionTaken(_)
        | Fact::HeldAsEvidence { .. }
        | Fact::HoldLifted { .. }
        | Fact::FleetCheckOpened(_)
        | Fact::FleetCheckAnswered(_)
        | Fact::VisitPlanned(_)
        | Fact::VisitCancelled { .. }
        | Fact::Withdrawn
        | Fact::Proposed(_)
        | Fact::Approved { .. }
        | Fact::Rejected { .. } => Vec::new(),
        Fact::CarRegistered(car) => vec![Touch::Car(car.number.clone())],
        Fact::UnitFormed(unit) => {
            let formed = dossier.units.get(&unit.number);
            let before = formed.into_iter().flat_map(|known| &known.formation.cars);
            let cars = before.chain(&unit.cars);
            cars.map(|place| Touch::Car(place.car.clone())).collect()
        }
        Fact::ComponentReceived(receipt) => vec![Touch::Component(receipt.component.clone())],
        Fact::Removed { component, .. }
        | Fact::Relocated(Relocation { component, .. })
        | Fact::PlateChanged(PlateChange { component, .. })
        | Fact::ConditionJudged { component, .. } => vec![Touch::Component(component.clone())],
        Fact::Fitted(fitting) => vec![
            Touch::Component(fitting.component.clone()),
            Touch::Place(fitting.at.clone()),
        ],
        Fact::Moved { component, to, .. } => {
            vec![
                Touch::Component(component.clone()),
                Touch::Place(to.clone()),
            ]
        }
        Fact::Swapped { first, second, .. } => [first, second]
            .map(|component| Touch::Component(component.clone()))
            .to_vec(),
        Fact::SettingMade(made) => vec![Touch::Set(made.at.clone())],
        Fact::ReadingTaken(reading) => vec![Touch::Use(reading.car.clone())],
        Fact::MeterReplaced { car, .. } => vec![match act {
            Act::Records => Touch::Car(car.clone()),
            Act::Amends => Touch::Use(car.clone()),
        }],
        Fact::TaskDone { subject, .. } | Fact::Embodied { subject, .. } => {
            vec![of_subject(subject)]
        }
        Fact::TestRecorded(record) => vec![of_subject(&record.subject)],
        Fact::IsolationEnded { at, .. } => vec![Touch::CarAndAllOnIt(at.car.clone())],
    }
}

fn of_subject(subject: &Subject) -> Touch {
    match subject {
        Subject::Component(component) => Touch::Component(component.clone()),
        Subject::Car(car) => Touch::CarAndAllOnIt(car.clone()),
    }
}

/// All that a touch reaches.
#[derive(Debug, Default)]
struct Reached {
    components: Vec<ComponentRef>,
    cars: Vec<CarNumber>,
    all_on: Option<CarNumber>,
    set: Option<PositionRef>,
}

impl Reached {
    fn by(dossier: &Dossier, touch: &Touch, at: Instant) -> Self {
        let mut reached = Self::default();
        match touch {
            Touch::Component(component) => {
                reached.opened(dossier, component, at);
                reached.components.extend(dossier.all_inside(component, at));
            }
            Touch::Place(place) => match &place.host {
                Host::Car(car) => reached.cars.push(car.clone()),
                Host::Assembly(assembly) => reached.opened(dossier, assembly, at),
            },
            Touch::Set(at) => {
                reached.cars.push(at.car.clone());
                reached.set = Some(at.clone());
            }
            Touch::Car(car) => reached.cars.push(car.clone()),
            Touch::CarAndAllOnIt(car) | Touch::Use(car) => reached.all_on = Some(car.clone()),
        }
        reached
    }

    /// A component, what it is inside of, and the car that is on.
    fn opened(&mut self, dossier: &Dossier, component: &ComponentRef, at: Instant) {
        let now = dossier.open_fitment(component);
        self.cars.extend(now.map(|fitment| fitment.at.car.clone()));
        self.cars.extend(dossier.host_at(component, at).cloned());
        self.components
            .extend(dossier.with_all_above(component, at));
    }

    fn holds(&self, hold: &HoldRecord) -> bool {
        if self.all_on.as_ref().is_some_and(|car| hold.is_on(car)) {
            return true;
        }
        // What is held is where it was when the hold was set.
        let around = |set: &PositionRef| {
            let on = hold.on_car.as_ref().filter(|on| on.car == set.car);
            on.is_some_and(|on| {
                let inside = |one: &PositionCode, of: &PositionCode| one.after(of).is_some();
                on.position == set.position
                    || inside(&set.position, &on.position)
                    || inside(&on.position, &set.position)
            })
        };
        if self.set.as_ref().is_some_and(around) {
            return true;
        }
        match &hold.held {
            Held::Component(one) => self.components.contains(one),
            Held::Car(car) => self.cars.contains(car),
            Held::Entry(_) => false,
        }
    }
}

/// Checks that there is what is to be held, and that the same person does not hold it already.
pub(super) fn check_set(
    dossier: &Dossier,
    actor: &Actor,
    held: &Held,
    next: Seq,
) -> Result<(), Refusal> {
    match held {
        Held::Component(component) => {
            super::components::known(dossier, component)?;
        }
        Held::Car(car) => {
            super::cars::known_car(dossier, car)?;
        }
        Held::Entry(seq) if (1..next.0).contains(&seq.0) => {}
        Held::Entry(seq) => {
            return Err(Refusal::Unknown {
                what: "entry",
                name: seq.0.to_string(),
            });
        }
    }
    let mut holds = dossier.holds.values();
    let own = holds.find(|one| one.in_force() && one.held == *held && one.by == actor.name);
    match own {
        None => Ok(()),
        Some(own) => Err(Refusal::Contradicts {
            what: format!("another hold of yours on {held}"),
            by: own.id,
            since: own.since.into(),
            allowed: "it is held already; another person may hold it too",
        }),
    }
}

/// Folds an entry that sets or lifts a hold.
pub(super) fn fold(dossier: &mut Dossier, entry: &Entry) {
    match &entry.fact {
        Fact::HeldAsEvidence {
            held,
            investigation,
        } => fold_set(dossier, entry, (held, investigation)),
        Fact::HoldLifted { hold, .. } => fold_lifted(dossier, entry, *hold),
        _ => {}
    }
}

fn fold_set(dossier: &mut Dossier, entry: &Entry, (held, why): (&Held, &str)) {
    let on_car = match held {
        Held::Component(component) => {
            let fitment = dossier.open_fitment(component);
            fitment.map(|fitment| fitment.at.clone())
        }
        Held::Car(_) | Held::Entry(_) => None,
    };
    let record = HoldRecord {
        id: entry.seq,
        held: held.clone(),
        investigation: why.to_owned(),
        by: entry.actor.clone(),
        since: entry.effective_at,
        on_car,
        lifted: None,
    };
    dossier.holds.insert(entry.seq, record);
    dossier.changes.holds.insert(entry.seq);
}

/// Checks that whoever lifts a hold alone is the person who set it. Two people lift that of somebody
/// who cannot.
pub(super) fn check_lifted(
    dossier: &Dossier,
    actor: &Actor,
    hold: Seq,
    at: Instant,
) -> Result<(), Refusal> {
    let record = check_ends(dossier, hold, at)?;
    if record.by != actor.name {
        return Err(Refusal::NotTheSetter {
            hold,
            set_by: record.by.clone(),
        });
    }
    Ok(())
}

/// Checks that whoever set a hold cannot sign in: else two others do not lift it.
pub(super) fn check_absent(dossier: &Dossier, hold: Seq) -> Result<(), Refusal> {
    let record = dossier.holds.get(&hold);
    match record.filter(|record| dossier.there.contains(&record.by)) {
        None => Ok(()),
        Some(record) => Err(Refusal::NotTheSetter {
            hold,
            set_by: record.by.clone(),
        }),
    }
}

/// Checks that a hold is in force, and ends after it was set.
pub(super) fn check_ends(
    dossier: &Dossier,
    hold: Seq,
    at: Instant,
) -> Result<&HoldRecord, Refusal> {
    let known = dossier.holds.get(&hold).filter(|hold| hold.in_force());
    let record = known.ok_or_else(|| Refusal::Unknown {
        what: "hold",
        name: format!("in force by {hold}"),
    })?;
    if at < record.since {
        return Err(Refusal::Contradicts {
            what: format!("the hold on {} lifted at {at}", record.held, at = at.told()),
            by: hold,
            since: record.since.into(),
            allowed: "give a time after it was set",
        });
    }
    Ok(record)
}

fn fold_lifted(dossier: &mut Dossier, entry: &Entry, hold: Seq) {
    if let Some(record) = dossier.holds.get_mut(&hold) {
        record.lifted = Some((entry.effective_at, entry.seq));
        dossier.changes.holds.insert(hold);
    }
}
