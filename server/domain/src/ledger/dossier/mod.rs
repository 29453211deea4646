//! The part of the register's state that some commands touch, as loaded for them. Commands are
//! decided against it and folded into it; what was changed is noted so that it can be kept.
//! Looking things up is constant time.

mod assemblies;
mod baselines;
mod campaigns;
mod concessions;
mod decisions;
mod documents;
mod ended_later;
mod fitment;
mod fitted_work;
mod fleet_checks;
mod holds;
mod named;
mod places;
mod plates;
mod records;
mod sought;
mod states;
mod told;
mod work;

pub use campaigns::Concerned;
pub use decisions::{DecisionRecord, TrainAsItStands, Void, VoidBecause};
pub use documents::{Documents, InForce, Issued};
pub use fitment::{Fitment, FitmentEnd, FitmentId, OwnFitment, Period, Which};
pub use fleet_checks::{AnswerRecord, FleetCheckRecord};
pub use holds::{HeldNow, HoldRecord, HoldsInForce};
pub use places::PlaceOnCar;
pub use records::{
    CarRecord, ComponentRecord, ComponentState, DoneRecord, Formed, IsolationRecord, Membership,
    MeterRecord, MeterValues, ReadingRecord, ReplacementRecord, TestedRecord, Whereabouts,
};

use crate::configuration::car::{Train, Unit};
use crate::configuration::component::{ComponentRef, PositionRef};
use crate::configuration::effectivity::Effectivity;
use crate::configuration::modification::EmbodiedRecord;
use crate::configuration::setting::SettingRecord;
use crate::decision::follow_up::ConfirmedCheck;
use crate::due::at_once::AtOnceCause;
use crate::due::task::AppliesTo;
use crate::due::visit::VisitRecord;
use crate::identity::{
    CarNumber, DepotName, PersonName, PositionCode, TestRecordId, TrainId, UnitNumber, VisitNumber,
};
use crate::ledger::consequences::RaisedDoubt;
use crate::ledger::departures::Departing;
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::obligations::Touch;
use crate::ledger::proposal::ProposalRecord;
use crate::ledger::subjects::EntrySubject;
use crate::time::{Instant, Zone};
use crate::units::Meter;
use decisions::Moved;
use ended_later::EndedLater;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::sync::Arc;

/// The state that some commands touch.
#[derive(Debug, Default)]
pub struct Dossier {
    /// The depot's time zone.
    pub zone: Zone,
    /// Design data.
    pub documents: Arc<Documents>,
    /// Cars.
    pub cars: HashMap<CarNumber, CarRecord>,
    /// Of the depots that are touched, those where cars are at home.
    pub depots: BTreeSet<DepotName>,
    /// Units.
    pub units: HashMap<UnitNumber, Formed<Unit>>,
    /// Trains.
    pub trains: HashMap<TrainId, Formed<Train>>,
    /// Components.
    pub components: HashMap<ComponentRef, ComponentRecord>,
    /// Meters.
    pub meters: HashMap<(CarNumber, Meter), MeterRecord>,
    /// Test records.
    pub tests: HashMap<TestRecordId, TestedRecord>,
    /// What was touched on cars since tests that are to prove a brake restored.
    pub touched: HashMap<CarNumber, Vec<Touch>>,
    /// The isolations of each position.
    pub isolations: HashMap<PositionRef, Vec<IsolationRecord>>,
    /// In which cars modifications are embodied, and in what they were just now.
    pub embodied: BTreeMap<Seq, EmbodiedRecord>,
    /// Settings that were made just now.
    pub settings: BTreeMap<Seq, SettingRecord>,
    /// Proposals.
    pub proposals: HashMap<Seq, ProposalRecord>,
    /// Checks after cut-outs that were confirmed.
    pub confirmed: HashMap<Seq, ConfirmedCheck>,
    /// Decisions about trains that stand, or stood when the dossier was loaded.
    pub decisions: BTreeMap<Seq, DecisionRecord>,
    /// The trains that are decided about, as they stand.
    pub standing: HashMap<TrainId, TrainAsItStands>,
    /// Entries that are to be corrected, with the entry that already corrects them and when that is
    /// effective.
    pub corrected: HashMap<Seq, (Entry, Option<(Seq, Instant)>)>,
    /// Of receipts that are to be corrected, the entries that name the component as well; of
    /// registrations, those that name the car; of formations, those that form the same unit or train.
    pub mentions: HashMap<Seq, Mentions>,
    /// Where a test is corrected, the entries that ended isolations on the strength of it; where a
    /// cut-out is, the one that ended it.
    pub proved: Vec<Entry>,
    /// Evidence holds: those in force, and those that lasted at a moment that matters.
    pub holds: BTreeMap<Seq, HoldRecord>,
    /// Of those who set a hold that is proposed to be lifted, the ones who can sign in.
    pub there: BTreeSet<PersonName>,
    /// Checks of the fleet.
    pub fleet_checks: BTreeMap<Seq, FleetCheckRecord>,
    /// Of checks that a car answers last: the cars that carry what is looked for, and since when.
    pub carrying: BTreeMap<Seq, BTreeMap<CarNumber, Instant>>,
    /// Visits.
    pub visits: BTreeMap<VisitNumber, VisitRecord>,
    /// Of components that are judged, the doubts that stand.
    pub doubts: HashMap<ComponentRef, Vec<RaisedDoubt>>,
    /// Components by the plates that they bear or bore beside their own.
    borne: HashMap<ComponentRef, ComponentRef>,
    told: told::Told,
    own: assemblies::OwnFitments,
    fitments: HashMap<FitmentId, Fitment>,
    fitments_of: HashMap<ComponentRef, BTreeSet<FitmentId>>,
    fitments_at: HashMap<PositionRef, BTreeSet<FitmentId>>,
    states: HashMap<ComponentRef, Vec<ComponentState>>,
    done: HashMap<Seq, Vec<DoneRecord>>,
    done_on: HashMap<ComponentRef, BTreeSet<Seq>>,
    pub(crate) moved: Moved,
    pub(crate) ended_later: EndedLater,
    /// What was changed since the dossier was loaded.
    pub changes: Changes,
}

/// What else was recorded about a component, a car, a unit or a train, and was not corrected since.
#[derive(Debug)]
pub struct Mentions {
    /// Up to which entry it is not kept what entries are about.
    pub kept_after: Seq,
    /// The entries, in their order.
    pub entries: Vec<Entry>,
}

/// Which things a fold has changed.
#[derive(Debug, Default)]
pub struct Changes {
    /// What entries are about.
    pub subjects: BTreeSet<(Seq, EntrySubject)>,
    /// Entries that brought a document.
    pub documents: Vec<Seq>,
    /// Cars.
    pub cars: BTreeSet<CarNumber>,
    /// Cars that are not in the register any more, by the entries that brought them, with the entry that
    /// withdrew their registration.
    pub cars_gone: BTreeMap<Seq, Seq>,
    /// Units.
    pub units: BTreeSet<UnitNumber>,
    /// Trains.
    pub trains: BTreeSet<TrainId>,
    /// Components.
    pub components: HashSet<ComponentRef>,
    /// Components that are not in the register any more, with the entry that withdrew their receipt.
    pub taken_out: BTreeMap<ComponentRef, Seq>,
    /// What entries say of components that is new, or is no more.
    pub states: BTreeSet<(ComponentRef, Seq)>,
    /// Fitments on cars that are new or changed, or are no more.
    pub fitments: BTreeSet<FitmentId>,
    /// Fitments in assemblies that are new or changed, or are no more.
    pub inner_fitments: BTreeSet<FitmentId>,
    /// Readings that are new, or are no more.
    pub readings: BTreeSet<(CarNumber, Meter, Instant)>,
    /// Replacements that are new, or are no more.
    pub replacements: BTreeSet<(CarNumber, Meter, Instant)>,
    /// Entries whose records of work done are new, or are no more.
    pub done: BTreeSet<Seq>,
    /// Embodiments that are new, or are no more.
    pub embodied: BTreeSet<Seq>,
    /// Settings that are new, or are no more.
    pub settings: BTreeSet<Seq>,
    /// Test records that are new.
    pub tests: BTreeSet<TestRecordId>,
    /// Entries that were taken back.
    pub withdrawn: BTreeSet<Seq>,
    /// Proposals that are new or decided.
    pub proposals: BTreeSet<Seq>,
    /// Positions whose isolations are changed.
    pub isolations: BTreeSet<PositionRef>,
    /// Confirmed checks that are new, or are no more.
    pub confirmed: BTreeSet<Seq>,
    /// Decisions that are new or became void.
    pub decisions: BTreeSet<Seq>,
    /// Cars of which something changed that verdicts rest on.
    pub moved_cars: BTreeSet<CarNumber>,
    /// Evidence holds that are new or lifted.
    pub holds: BTreeSet<Seq>,
    /// Checks of the fleet that are new.
    pub fleet_checks: BTreeSet<Seq>,
    /// Components of which a plate is new, or is no more.
    pub plates: BTreeSet<ComponentRef>,
    /// Cars that answered a check of the fleet.
    pub fleet_answers: BTreeSet<(Seq, CarNumber)>,
    /// Visits that are new, planned otherwise or cancelled.
    pub visits: BTreeSet<VisitNumber>,
    /// Cars whose own work must be worked out anew.
    pub stale_cars: BTreeSet<CarNumber>,
    /// Cars with a meter of which something was read or replaced, or is no more.
    pub stale_meters: BTreeSet<CarNumber>,
    /// Cars on which it must be worked out anew what their meters had shown when fitments began
    /// and ended and work was done, at this moment or later; what was marked before stands.
    pub stale_marks: BTreeMap<CarNumber, Instant>,
    /// Cars whose departures from their baseline must be worked out anew, and where.
    pub stale_departures: BTreeMap<CarNumber, Departing>,
    /// Statements of effectivity: departures of all the cars they hold for must be.
    pub stale_baselines: Vec<Effectivity>,
    /// Places by their full code: departures of all cars that depart there must be, since what is
    /// allowed there has changed.
    pub stale_places: BTreeSet<PositionCode>,
    /// Things with a task that is new or revised: all of their due dates must be worked out
    /// anew.
    pub stale_subjects: Vec<AppliesTo>,
    /// Components whose due dates must be worked out anew.
    pub stale_components: HashSet<ComponentRef>,
}

impl Changes {
    /// Notes that marks of a car from a moment on must be worked out anew.
    pub(crate) fn marks_from(&mut self, car: &CarNumber, from: Instant) {
        let known = self.stale_marks.entry(car.clone()).or_insert(from);
        *known = from.min(*known);
    }

    /// Notes that what departs anywhere on a car must be worked out anew.
    pub(crate) fn departs(&mut self, car: &CarNumber) {
        self.stale_departures
            .insert(car.clone(), Departing::Anywhere);
    }

    /// Notes that what departs at a place of a car, and below it, must be worked out anew.
    pub(crate) fn departs_at(&mut self, at: &PositionRef) {
        let nowhere = || Departing::At(BTreeSet::new());
        let known = self.stale_departures.entry(at.car.clone());
        known.or_insert_with(nowhere).add(&at.position);
    }
}

impl Dossier {
    /// A dossier with the design data and nothing else.
    pub fn new(documents: Arc<Documents>, zone: Zone) -> Self {
        Self {
            zone,
            documents,
            ..Self::default()
        }
    }

    /// A place on a car, if it is in the dossier.
    pub fn fitment(&self, id: FitmentId) -> Option<&Fitment> {
        self.fitments.get(&id)
    }

    /// Where a component was on cars, by itself or inside assemblies.
    pub fn fitments_of(&self, component: &ComponentRef) -> impl Iterator<Item = &Fitment> {
        let ids = self.fitments_of.get(component).into_iter().flatten();
        ids.filter_map(|id| self.fitments.get(id))
    }

    /// What was at a position of a car.
    pub fn fitments_at(&self, position: &PositionRef) -> impl Iterator<Item = &Fitment> {
        let ids = self.fitments_at.get(position).into_iter().flatten();
        ids.filter_map(|id| self.fitments.get(id))
    }

    /// Where a component is on a car now.
    pub fn open_fitment(&self, component: &ComponentRef) -> Option<&Fitment> {
        self.fitments_of(component)
            .find(|fitment| fitment.end.is_none())
    }

    /// Notes that something on a car was touched, after which a task of it may be due at once.
    pub(crate) fn touched(&mut self, car: &CarNumber, cause: AtOnceCause) {
        let car_type = self.cars.get(car).map(|known| &known.car.car_type);
        if self.documents.opens_after(car_type, cause) {
            self.changes.stale_cars.insert(car.clone());
        }
    }

    /// Notes what the meters showed when a place on a car began and ended, if it is in the
    /// dossier, which is no change.
    pub fn mark(&mut self, marked: &Fitment) {
        if let Some(fitment) = self.fitments.get_mut(&marked.id) {
            fitment.meters_from = marked.meters_from;
            fitment.meters_until = marked.meters_until;
        }
    }

    /// Puts a loaded place on a car into the dossier, which is no change.
    pub fn load_fitment(&mut self, fitment: Fitment) {
        if fitment.id.is_own() {
            self.load_own_fitment(OwnFitment::from(&fitment));
        }
        self.fitments_of
            .entry(fitment.component.clone())
            .or_default()
            .insert(fitment.id);
        self.fitments_at
            .entry(fitment.at.clone())
            .or_default()
            .insert(fitment.id);
        self.fitments.insert(fitment.id, fitment);
    }
}
