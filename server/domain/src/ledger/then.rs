//! What followed from what the register knew at a time: use, marks and due work, worked out anew
//! from a dossier that holds nothing later than that. The arithmetic is that of
//! [`super::standing`], so that it is what the register would have shown then.

use crate::configuration::component::{ComponentRef, Subject};
use crate::decision::due_at_once::DueAtOnce;
use crate::due::DueRow;
use crate::due::task::Task;
use crate::identity::{CarNumber, TaskCode};
use crate::ledger::at_once::Tested;
use crate::ledger::dossier::{
    CarRecord, ComponentRecord, Documents, DoneRecord, Dossier, Fitment, IsolationRecord,
    MeterValues, TestedRecord,
};
use crate::ledger::entry::Entry;
use crate::ledger::estimated::LastRead;
use crate::ledger::obligations::{OfCar, Touch};
use crate::ledger::reached::HostMeters;
use crate::ledger::record::fold;
use crate::ledger::standing::{CarHistory, CarMeters, ComponentHistory, MeterStanding};
use crate::time::{Instant, Zone};
use crate::units::Meter;
use crate::usage::meter::MeterHistoryRefused;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

/// Some components and cars as they were told at a time.
#[derive(Debug)]
pub struct Then {
    dossier: Dossier,
    meters: HashMap<CarNumber, CarMeters>,
    /// Where components were on cars, by the beginning, with what the cars had run at both ends.
    fitments: HashMap<ComponentRef, Vec<Fitment>>,
    /// The work done, by its time.
    done: HashMap<Subject, Vec<DoneRecord>>,
    tests: HashMap<Subject, Vec<TestedRecord>>,
    touches: BTreeMap<CarNumber, Vec<Touch>>,
}

/// When a task is due, as it was told then.
pub type DueThen = (Arc<Task>, DueRow);

impl Then {
    /// Works out what followed from a dossier into which only that was loaded which was known
    /// then, with the readings, replacements of meters, cut-outs and work done that were withdrawn
    /// since.
    /// Linear in all of it, with a sorting of the readings.
    pub fn of(mut dossier: Dossier, withdrawn: &[Entry]) -> Result<Self, MeterHistoryRefused> {
        dossier.restate_all();
        for entry in withdrawn {
            fold(&mut dossier, entry);
        }
        let mut meters = HashMap::new();
        for (car, _) in dossier.meters.keys() {
            if !meters.contains_key(car) {
                let record = |meter| dossier.meters.get(&(car.clone(), meter));
                meters.insert(car.clone(), CarMeters::new(record)?);
            }
        }
        let mut then = Self {
            fitments: HashMap::new(),
            done: HashMap::new(),
            tests: HashMap::new(),
            touches: BTreeMap::new(),
            meters,
            dossier,
        };
        then.mark_fitments();
        then.mark_done();
        for tested in then.dossier.tests.values() {
            let of_subject = then.tests.entry(tested.record.subject.clone());
            of_subject.or_default().push(tested.clone());
        }
        for tests in then.tests.values_mut() {
            tests.sort_by_key(|tested| std::cmp::Reverse((tested.record.at, tested.by)));
        }
        Ok(then)
    }

    fn mark_fitments(&mut self) {
        for component in self.dossier.components.keys() {
            let marked = self.dossier.fitments_of(component).map(|fitment| Fitment {
                meters_from: self.ran(&fitment.at.car, fitment.from),
                meters_until: fitment
                    .end
                    .as_ref()
                    .map_or_else(MeterValues::default, |end| {
                        self.ran(&fitment.at.car, end.at)
                    }),
                ..fitment.clone()
            });
            let mut marked: Vec<Fitment> = marked.collect();
            marked.sort_by_key(|fitment| fitment.from);
            self.fitments.insert(component.clone(), marked);
        }
    }

    fn mark_done(&mut self) {
        for record in self.dossier.all_done() {
            let car = match &record.subject {
                Subject::Car(car) => Some(car),
                Subject::Component(component) => self.dossier.host_at(component, record.at),
            };
            let marked = DoneRecord {
                meters: car.map_or_else(MeterValues::default, |car| self.ran(car, record.at)),
                car: car.cloned(),
                ..record.clone()
            };
            self.done
                .entry(record.subject.clone())
                .or_default()
                .push(marked);
        }
        for done in self.done.values_mut() {
            done.sort_by(|one, other| {
                (one.at, one.by, &one.task).cmp(&(other.at, other.by, &other.task))
            });
        }
    }

    fn ran(&self, car: &CarNumber, at: Instant) -> MeterValues {
        let meters = self.meters.get(car);
        meters.map_or_else(MeterValues::default, |meters| meters.at(at))
    }

    /// A component as it was told; none where the register knew nothing of it yet.
    pub fn component(&self, component: &ComponentRef) -> Option<&ComponentRecord> {
        self.dossier.components.get(component)
    }

    /// The components that were told of, in no order.
    pub fn components(&self) -> impl Iterator<Item = &ComponentRecord> {
        self.dossier.components.values()
    }

    /// Where a component was on cars, by the beginning.
    pub fn fitments_of(&self, component: &ComponentRef) -> &[Fitment] {
        self.fitments.get(component).map_or(&[], Vec::as_slice)
    }

    /// The work done on something, by its time.
    pub fn done_on(&self, subject: &Subject) -> &[DoneRecord] {
        self.done.get(subject).map_or(&[], Vec::as_slice)
    }

    /// The tests of something, newest first.
    pub fn tests_of(&self, subject: &Subject) -> &[TestedRecord] {
        self.tests.get(subject).map_or(&[], Vec::as_slice)
    }

    /// The cut-outs of a car, newest first.
    pub fn cut_outs_of(&self, car: &CarNumber) -> Vec<IsolationRecord> {
        let all = self.dossier.isolations.values().flatten();
        let of_car = all.filter(|one| one.cut_out.at.car == *car);
        let mut of_car: Vec<IsolationRecord> = of_car.cloned().collect();
        of_car.sort_by_key(|one| std::cmp::Reverse((one.since, one.id)));
        of_car
    }

    /// Those that were in force at the time told of.
    pub fn cut_outs_in_force(&self, car: &CarNumber) -> Vec<IsolationRecord> {
        let mut all = self.cut_outs_of(car);
        all.retain(|one| one.ended.is_none());
        all
    }

    /// Where the meters of a car stood that had been read.
    pub fn standings(&self, car: &CarNumber) -> Vec<(Meter, MeterStanding)> {
        let meters = self.meters.get(car);
        let of = |meter: &Meter| Some((*meter, meters?.standing(*meter)?));
        Meter::ALL.iter().filter_map(of).collect()
    }

    /// When the meters were last read of the cars that a component came off.
    pub fn last_read(&self, component: &ComponentRef) -> Vec<LastRead> {
        let ended = self.fitments_of(component).iter();
        let ended = ended.filter(|fitment| fitment.end.is_some());
        let cars: BTreeSet<&CarNumber> = ended.map(|fitment| &fitment.at.car).collect();
        let of = |car: &CarNumber| {
            let standings = self.standings(car).into_iter();
            let read = standings.map(|(meter, standing)| LastRead {
                car: car.clone(),
                meter,
                at: standing.last.at,
            });
            read.collect::<Vec<_>>()
        };
        cars.into_iter().flat_map(of).collect()
    }

    /// The line through the readings of a car's meters.
    pub fn line(&self, car: &CarNumber) -> Option<&CarMeters> {
        self.meters.get(car)
    }

    fn host(&self, car: Option<&CarNumber>, zone: &Zone) -> HostMeters<'_> {
        let line = car.and_then(|car| self.line(car));
        let facts = line.map(|meters| meters.facts(zone));
        facts.map_or(HostMeters::UNKNOWN, |facts| HostMeters { facts, line })
    }

    /// Takes in what had been touched on cars, each in order.
    pub fn put_touches(&mut self, touches: BTreeMap<CarNumber, Vec<Touch>>) {
        self.touches = touches;
    }

    fn history<'s>(
        &'s self,
        component: &ComponentRef,
        last_read: &'s [LastRead],
    ) -> Option<ComponentHistory<'s>> {
        let subject = Subject::Component(component.clone());
        Some(ComponentHistory {
            record: self.component(component)?,
            fitments: self.fitments_of(component).iter().collect(),
            came_off: self.dossier.came_off(component),
            done: self.done_on(&subject).iter().collect(),
            tests: self.tests_of(&subject).iter().map(Tested::from).collect(),
            last_read,
        })
    }

    /// Whether the limit of a task of a component by a meter rests, at a moment, on use of which no
    /// reading tells.
    pub fn rests_on_estimate(
        &self,
        component: &ComponentRef,
        (task, meter): (&TaskCode, Meter),
        at: Instant,
    ) -> bool {
        let last_read = self.last_read(component);
        let history = self.history(component, &last_read);
        history.is_some_and(|history| !history.estimated_for(task, meter, at).is_empty())
    }

    /// When each task of a component was due.
    pub fn due_of_component(
        &self,
        component: &ComponentRef,
        documents: &Documents,
        zone: &Zone,
    ) -> Vec<DueThen> {
        let Some(history) = self.history(component, &[]) else {
            return Vec::new();
        };
        let fitments = self.fitments_of(component);
        let open = fitments.iter().find(|fitment| fitment.end.is_none());
        let host = open.map(|fitment| &fitment.at.car);
        history.due(documents, &self.host(host, zone), zone)
    }

    /// The work on a car that was due at once since something was touched, by the design data of the
    /// dossier.
    pub fn due_at_once(&self, car: &CarRecord, zone: &Zone) -> Vec<DueAtOnce> {
        let number = &car.car.number;
        let subject = Subject::Car(number.clone());
        let tests: Vec<Tested> = self.tests_of(&subject).iter().map(Tested::from).collect();
        let of = OfCar {
            car_type: &car.car.car_type,
            tests: &tests,
            documents: &self.dossier.documents,
            zone,
        };
        let touches = self.touches.get(number).map_or(&[][..], Vec::as_slice);
        let done: Vec<&DoneRecord> = self.done_on(&subject).iter().collect();
        of.due_at_once(touches, &done)
    }

    /// When each task of a car as a whole was due.
    pub fn due_of_car(&self, car: &CarRecord, documents: &Documents, zone: &Zone) -> Vec<DueThen> {
        let number = &car.car.number;
        let subject = Subject::Car(number.clone());
        let meters = self.meters.get(number);
        let entered = car.car.entered_service_on;
        let entered = entered
            .zip(meters)
            .map(|(day, meters)| meters.on_day(day, zone));
        let history = CarHistory {
            record: car,
            meters: self.host(Some(number), zone),
            entered: entered.unwrap_or_default(),
            done: self.done_on(&subject).iter().collect(),
            tests: self.tests_of(&subject).iter().map(Tested::from).collect(),
            touches: self.touches.get(number).map_or(&[], Vec::as_slice),
        };
        history.due(documents, zone)
    }
}
