//! How cars and components stand by the records: what their meters showed at the moments that
//! matter, and when each of their tasks is due. It only gathers the facts; the arithmetic is
//! that of [`crate::usage`] and [`crate::due`].

use crate::configuration::component::Condition;
use crate::due::at_once::AtOnce;
use crate::due::facts::{
    Done, FirstFitting, LastReading, MeterFacts, Moment, Scale, SubjectFacts, SubjectKind,
};
use crate::due::forecast::PassedOn;
use crate::due::task::Task;
use crate::due::{self, DueRow, working};
use crate::ledger::at_once::{self, Tested};
use crate::ledger::dossier::{
    CarRecord, ComponentRecord, Documents, DoneRecord, Fitment, FitmentEnd, MeterRecord,
    MeterValues,
};
use crate::ledger::estimated::LastRead;
use crate::ledger::fact::Brought;
use crate::ledger::obligations::Touch;
use crate::ledger::reached::HostMeters;
use crate::time::{Day, Instant, Zone};
use crate::units::{Amount, ByMeter, Meter};
use crate::usage::carried::KnownSince;
use crate::usage::meter::{MeterHistory, MeterHistoryRefused, MeterPoint, UsagePoint, usage_at};
use crate::usage::rate::{DailyRate, daily_rate};
use crate::worked::Worked;
use std::sync::Arc;

/// The meters of one car, ready to be asked.
#[derive(Debug, Clone, Default)]
pub struct CarMeters {
    pub(super) meters: ByMeter<Option<(MeterHistory, Option<DailyRate>)>>,
}

/// Where a meter stands: its last point, what it showed then, and its rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeterStanding {
    /// The last point, continuous over replacements.
    pub last: MeterPoint,
    /// What the meter showed then.
    pub shown: Amount,
    /// What it gains a day.
    pub rate: Option<DailyRate>,
}

impl MeterStanding {
    /// The car's use at a moment not before the last point; see [`usage_at`].
    pub fn at(&self, at: Instant) -> UsagePoint {
        usage_at(at, Some(self.last), None, self.rate)
    }

    /// What forecasts start from.
    pub fn facts(&self, zone: &Zone) -> MeterFacts {
        MeterFacts {
            last: Some(LastReading {
                on: zone.day_of(self.last.at),
                usage: self.last.usage,
            }),
            rate: self.rate,
        }
    }
}

impl CarMeters {
    /// From the records of each meter. Costs the sorting of the readings.
    pub fn new<'a>(
        record: impl Fn(Meter) -> Option<&'a MeterRecord>,
    ) -> Result<Self, MeterHistoryRefused> {
        let mut meters = ByMeter::default();
        for meter in Meter::ALL {
            if let Some(record) = record(*meter) {
                let history = record.history()?;
                let rate = daily_rate(history.points());
                meters[*meter] = Some((history, rate));
            }
        }
        Ok(Self { meters })
    }

    /// What the car had run at a moment: read, interpolated, or carried on at the rate.
    pub fn at(&self, at: Instant) -> MeterValues {
        ByMeter::from_fn(|meter| {
            let (history, rate) = self.meters[meter].as_ref()?;
            history.at(at, *rate).amount()
        })
    }

    /// What the car had run when a day began; by a meter that was first read on that day, what
    /// it had run then.
    pub fn on_day(&self, day: Day, zone: &Zone) -> MeterValues {
        let begins = self.at(zone.start_of(day));
        ByMeter::from_fn(|meter| {
            let (history, _) = self.meters[meter].as_ref()?;
            let first = history.points().first()?;
            let first = (zone.day_of(first.at) == day).then_some(first.usage);
            begins[meter].or(first)
        })
    }

    /// Where a meter stands, if it was ever read.
    pub fn standing(&self, meter: Meter) -> Option<MeterStanding> {
        let (history, rate) = self.meters[meter].as_ref()?;
        let last = *history.points().last()?;
        let shown = last.usage - history.offset_at(last.at);
        Some(MeterStanding {
            last,
            shown,
            rate: *rate,
        })
    }

    /// What forecasts start from.
    pub fn facts(&self, zone: &Zone) -> ByMeter<MeterFacts> {
        ByMeter::from_fn(|meter| {
            self.standing(meter)
                .map_or(MeterFacts::UNKNOWN, |standing| standing.facts(zone))
        })
    }
}

/// What the register knows of one component.
#[derive(Debug)]
pub struct ComponentHistory<'a> {
    /// Itself.
    pub record: &'a ComponentRecord,
    /// Its places on cars, by their beginning.
    pub fitments: Vec<&'a Fitment>,
    /// How it last came off, or out of an assembly; none while it is where it was last put.
    pub came_off: Option<&'a FitmentEnd>,
    /// The work done on it, by its time.
    pub done: Vec<&'a DoneRecord>,
    /// Its tests.
    pub tests: Vec<Tested>,
    /// When the meters of the cars that it came off were last read; empty where nobody asks what is
    /// estimated.
    pub last_read: &'a [LastRead],
}

impl ComponentHistory<'_> {
    /// When the component first stood on a car at or after a moment.
    fn first_fitting(&self, since: Instant, zone: &Zone) -> FirstFitting {
        let on_car = self
            .fitments
            .iter()
            .filter(|fitment| fitment.end.as_ref().is_none_or(|end| since < end.at))
            .map(|fitment| fitment.from.max(since))
            .min();
        on_car.map_or(FirstFitting::NotYet, |at| FirstFitting::On(zone.day_of(at)))
    }

    /// The moment of its making or overhaul, both before it came into the register: it had then
    /// run `used` until it came in. What has run nothing was on no car before; what has run anything
    /// was on one by then.
    fn before_receipt(&self, on: Option<Day>, used: &Brought, zone: &Zone) -> Moment {
        let unused = used.by_meter();
        let nothing = Meter::ALL
            .iter()
            .any(|meter| unused[*meter] == Some(Amount(0)))
            && Meter::ALL
                .iter()
                .all(|meter| unused[*meter].is_none_or(|used| used == Amount(0)));
        let has_run = Meter::ALL
            .iter()
            .any(|meter| unused[*meter].is_some_and(|used| Amount(0) < used));
        let fitted = match self.first_fitting(self.record.received_at, zone) {
            since if nothing => since,
            _ if has_run => FirstFitting::unknown_until(zone.day_of(self.record.received_at)),
            FirstFitting::On(day) => FirstFitting::unknown_until(day),
            _ => FirstFitting::UNKNOWN,
        };
        Moment::made(on, fitted, &unused)
    }

    /// Its making, and its last overhaul before it came in, if it had one.
    /// What it had run then is told where its use is known since its receipt.
    pub(super) fn begun(
        &self,
        known: &ByMeter<KnownSince>,
        zone: &Zone,
    ) -> (Moment, Option<Moment>) {
        let moment = |on, used| {
            let moment = self.before_receipt(on, used, zone);
            let told = |meter| known[meter] == KnownSince::Receipt;
            let counted = ByMeter::from_fn(|meter| moment.counted[meter].filter(|_| told(meter)));
            Moment { counted, ..moment }
        };
        let made = moment(self.record.manufactured_on, &self.record.brought);
        let overhauled = self.record.overhauled_on;
        let overhauled = overhauled.map(|on| moment(Some(on), &self.record.since_overhaul));
        (made, overhauled)
    }

    /// The same with no work but what was done by a time.
    pub(super) fn until(&self, at: Instant) -> ComponentHistory<'_> {
        let done = self.done.iter().copied();
        ComponentHistory {
            record: self.record,
            fitments: self.fitments.clone(),
            came_off: self.came_off,
            done: done.filter(|done| done.at <= at).collect(),
            tests: Vec::new(),
            last_read: self.last_read,
        }
    }

    /// When each task of the component is due. `host` are the meters of the car it is on. On
    /// what is scrapped, or beyond salvage and laid aside, no work is due. Linear in the tasks of its part, the fitments, the work
    /// done and the tests.
    pub fn due(
        &self,
        documents: &Documents,
        host: &HostMeters<'_>,
        zone: &Zone,
    ) -> Vec<(Arc<Task>, DueRow)> {
        self.each_task(documents, (host, zone), due::compute_read)
    }

    /// Whether a window has begun on the car that it is on, so that the line through the readings of
    /// its meters is needed.
    pub fn is_passed(&self, documents: &Documents, host: &HostMeters<'_>, zone: &Zone) -> bool {
        let on_car = self.fitments.iter().any(|fitment| fitment.end.is_none());
        let passed = |task: &Task, facts: &SubjectFacts<'_>, by: (&ByMeter<_>, PassedOn<'_>)| {
            due::compute_read(task, facts, by).points.are_passed(by.0)
        };
        let each = || self.each_task(documents, (host, zone), passed);
        on_car && each().into_iter().any(|(_, passed)| passed)
    }

    /// The same with its steps; for one component on a page.
    pub fn due_worked(
        &self,
        documents: &Documents,
        host: &HostMeters<'_>,
        zone: &Zone,
    ) -> Vec<(Arc<Task>, Worked<DueRow>)> {
        self.each_task(documents, (host, zone), working::worked)
    }

    fn each_task<T>(
        &self,
        documents: &Documents,
        (host, zone): (&HostMeters<'_>, &Zone),
        answer: impl Fn(&Task, &SubjectFacts<'_>, (&ByMeter<MeterFacts>, PassedOn<'_>)) -> T,
    ) -> Vec<(Arc<Task>, T)> {
        let laid_aside = self.record.kept.is_some();
        match self.record.condition {
            Condition::Scrapped => return Vec::new(),
            Condition::BeyondSalvage if laid_aside => return Vec::new(),
            _ => {}
        }
        let open = self.fitments.iter().find(|fitment| fitment.end.is_none());
        let known = self.known_since(Instant::LATEST);
        let (made, overhauled) = self.begun(&known, zone);
        let own = ByMeter::from_fn(|meter| known[meter].own_scale());
        let (scale, meters) = match open {
            Some(fitment) => (self.scale_on(fitment, &known), host.facts),
            None => (own, self.at_rest(&known, zone)),
        };
        // What is on no car passed nothing there.
        let line = open.map(|_| host);
        let passed = |meter, value| line?.passed_on(meter, value, zone);
        let tasks = documents.tasks_of_part(&self.record.component.part);
        let due = |task: &Arc<Task>| {
            let doings = self.doings((task, &known), documents, zone);
            let facts = SubjectFacts {
                kind: SubjectKind::Component,
                made,
                overhauled,
                doings: &doings,
                scale,
                at_once: self.at_once(task, documents, zone),
            };
            (Arc::clone(task), answer(task, &facts, (&meters, &passed)))
        };
        tasks.iter().map(due).collect()
    }

    fn at_once(&self, task: &Task, documents: &Documents, zone: &Zone) -> Option<AtOnce> {
        let restoring = at_once::restoring(documents.tasks_of_part(&self.record.component.part));
        let removal = || at_once::by_removal(task, self.record, (self.came_off, &self.done), zone);
        let removal = (restoring == Some(&task.code)).then(removal).flatten();
        let test = at_once::by_test(task, (&self.tests, &self.done), documents, zone);
        [test, removal]
            .into_iter()
            .flatten()
            .min_by_key(|found| found.on)
    }

    pub(super) fn doings<'t>(
        &self,
        (task, known): (&'t Task, &ByMeter<KnownSince>),
        documents: &'t Documents,
        zone: &Zone,
    ) -> Vec<Done<'t>> {
        let of_task = self.done.iter().filter(|done| done.task == task.code);
        of_task
            .map(|done| Done {
                moment: Moment {
                    on: Some(zone.day_of(done.at)),
                    fitted: self.first_fitting(done.at, zone),
                    counted: self.counted_until(known, done.at, &done.meters),
                },
                task: in_force(task, documents, done.at),
            })
            .collect()
    }
}

/// A task in the revision in force when it was done. The tolerance of that revision decides
/// whether the work was done in time, and so whether the next interval counts from the due point
/// or from the work; the interval itself is that of the revision in force now.
fn in_force<'t>(task: &'t Task, documents: &'t Documents, at: Instant) -> &'t Task {
    documents
        .task_at(&task.code, at)
        .map_or(task, AsRef::as_ref)
}

/// What the register knows of one car as a whole.
#[derive(Debug)]
pub struct CarHistory<'a> {
    /// Itself.
    pub record: &'a CarRecord,
    /// Its meters.
    pub meters: HostMeters<'a>,
    /// What it had run when it entered service; see [`CarMeters::on_day`].
    pub entered: MeterValues,
    /// The work done on it, by its time.
    pub done: Vec<&'a DoneRecord>,
    /// Its tests.
    pub tests: Vec<Tested>,
    /// What was touched on it since [`CarHistory::touched_since`], in order.
    pub touches: &'a [Touch],
}

impl CarHistory<'_> {
    /// When each task of the car as a whole is due: its intervals count from when it was last
    /// done, before that from the day the car entered service; where that is not recorded they
    /// are unknown. Linear in the tasks of its type, the work done and the tests.
    pub fn due(&self, documents: &Documents, zone: &Zone) -> Vec<(Arc<Task>, DueRow)> {
        let entered = self.record.car.entered_service_on;
        let made = entered.map_or(Self::UNKNOWN, |on| Moment {
            on: Some(on),
            fitted: FirstFitting::On(on),
            counted: self.entered,
        });
        let passed = |meter, value| self.meters.passed_on(meter, value, zone);
        let due = |task: &Arc<Task>| {
            let doings = self.doings(task, documents, zone);
            let facts = SubjectFacts {
                kind: SubjectKind::Car,
                made,
                overhauled: None,
                doings: &doings,
                scale: ByMeter::from_fn(|_| Scale::OWN),
                at_once: self.at_once(task, (documents, zone)),
            };
            let by: (_, PassedOn<'_>) = (&self.meters.facts, &passed);
            (Arc::clone(task), due::compute_read(task, &facts, by))
        };
        let tasks = documents.tasks_of_car_type(&self.record.car.car_type);
        tasks.iter().map(due).collect()
    }

    const UNKNOWN: Moment = Moment {
        on: None,
        fitted: FirstFitting::UNKNOWN,
        counted: ByMeter {
            odometer: None,
            running_hours: None,
            compressor_hours: None,
        },
    };

    fn doings<'t>(&self, task: &'t Task, documents: &'t Documents, zone: &Zone) -> Vec<Done<'t>> {
        let of_task = self.done.iter().filter(|done| done.task == task.code);
        let doings = of_task.map(|done| {
            let on = zone.day_of(done.at);
            let moment = Moment {
                on: Some(on),
                fitted: FirstFitting::On(on),
                counted: done.meters,
            };
            Done {
                moment,
                task: in_force(task, documents, done.at),
            }
        });
        doings.collect()
    }
}
