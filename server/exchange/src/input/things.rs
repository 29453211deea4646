//! Which thing a row brings, and which things it refers to: so that of a row that could not be
//! read, whatever builds on it need not be reported once more.

use super::cells::Cells;
use crate::columns::Table;
use domain::configuration::car::Vehicle;
use domain::configuration::component::{ComponentRef, Subject};
use domain::configuration::held::Held;
use domain::configuration::host::{Host, HostPosition};
use domain::configuration::modification::ModificationScope;
use domain::due::task::AppliesTo;
use domain::identity::{CarNumber, CarTypeName, LocationName, ModificationNumber};
use domain::ledger::fact::{Fact, Fitting};
use domain::refusal::Refusal;
use std::fmt::{self, Display};

/// A thing that rows refer to, by the table that brings it and its name in texts.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Thing {
    pub(super) kind: Kind,
    /// Empty for some thing of the table that could not be told.
    pub(super) name: String,
}

/// Stands in a name for a part of it that could not be told. No cell holds it.
const UNTOLD: &str = "\0";

/// A kind of things that rows refer to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Kind {
    Part,
    CarType,
    Task,
    Procedure,
    Car,
    Unit,
    Component,
    Fitted,
    Test,
    Location,
    Meter,
    Condition,
    Modification,
}

impl Kind {
    const ALL: [Self; 13] = [
        Self::Part,
        Self::CarType,
        Self::Task,
        Self::Procedure,
        Self::Car,
        Self::Unit,
        Self::Component,
        Self::Fitted,
        Self::Test,
        Self::Location,
        Self::Meter,
        Self::Condition,
        Self::Modification,
    ];

    /// The table that brings it.
    pub(super) fn table(self) -> &'static str {
        self.columns().0
    }

    /// What it is called.
    pub(super) fn called(self) -> &'static str {
        self.columns().2
    }

    /// The table that brings it, the columns that name it there, and what it is called.
    fn columns(self) -> (&'static str, &'static [&'static str], &'static str) {
        match self {
            Self::Part => ("parts", &["part"], "part"),
            Self::CarType => ("car_types", &["car_type"], "car type"),
            Self::Task => ("tasks", &["task"], "task"),
            Self::Procedure => ("procedures", &["procedure"], "procedure"),
            Self::Car => ("cars", &["car"], "car"),
            Self::Unit => ("units", &["unit"], "unit"),
            Self::Component => ("components", &["part", "serial"], "component"),
            Self::Fitted => ("fitments", &["car", "position"], "component at"),
            Self::Test => ("test_records", &["test_record"], "test record"),
            Self::Location => ("locations", &["location"], "location"),
            Self::Meter => ("meter_replacements", &["car", "meter"], "replaced meter"),
            Self::Condition => ("conditions", &["part", "serial"], "condition of"),
            Self::Modification => ("modifications", &["modification"], "modification"),
        }
    }
}

impl Thing {
    pub(super) fn new(kind: Kind, name: impl Display) -> Self {
        let name = name.to_string();
        Self { kind, name }
    }

    fn component(of: &ComponentRef) -> Self {
        Self::new(Kind::Component, format_args!("{} {}", of.part, of.serial))
    }

    /// What a row of `conditions` says of a component.
    fn condition(of: &ComponentRef) -> Self {
        Self::new(Kind::Condition, format_args!("{} {}", of.part, of.serial))
    }

    fn location(name: &LocationName) -> Self {
        Self::new(Kind::Location, name)
    }

    fn modification(number: &ModificationNumber) -> Self {
        Self::new(Kind::Modification, number)
    }

    pub(super) fn car(number: &CarNumber) -> Self {
        Self::new(Kind::Car, number)
    }

    pub(super) fn car_type(name: &CarTypeName) -> Self {
        Self::new(Kind::CarType, name)
    }

    /// Whether it is a component.
    pub(crate) fn is_component(&self) -> bool {
        self.kind == Kind::Component
    }

    /// Whether it is some thing of a table and nobody knows which.
    pub(crate) fn is_untold(&self) -> bool {
        self.name.is_empty()
    }

    /// Some thing of the same table.
    pub(crate) fn untold(&self) -> Self {
        Self::new(self.kind, "")
    }

    /// Some thing of a table that others refer to.
    pub(crate) fn of_table(table: &Table) -> Option<Self> {
        let mut kinds = Kind::ALL.into_iter();
        let kind = kinds.find(|kind| kind.columns().0 == table.name)?;
        Some(Self::new(kind, ""))
    }

    /// The things that a row would have brought, as far as its cells say: that which they name and,
    /// where something is wrong with what names it, whichever it may have been.
    pub(crate) fn of_row(table: &Table, cells: &Cells<'_>) -> Vec<Self> {
        let (kind, columns): (_, &[&str]) = match Self::of_table(table) {
            _ if table.name == "inner_fitments" => {
                (Kind::Component, &["host_part", "host_serial"][..])
            }
            Some(Self { kind, .. }) => (kind, kind.columns().1),
            None => return Vec::new(),
        };
        let texts = columns.iter().map(|column| cells.text(column));
        let texts: Vec<&str> = texts.collect();
        let exact = texts.iter().all(|text| !text.is_empty());
        let exact = exact.then(|| Self::new(kind, texts.join(" ")));
        let told = columns.iter().zip(texts);
        let told = told.map(|(column, text)| if cells.is_wrong(column) { "" } else { text });
        let told: Vec<&str> = told.collect();
        let perhaps = told.contains(&"").then(|| Self::partly(kind, &told));
        exact.into_iter().chain(perhaps).collect()
    }

    /// Something of which a part of the name is told; the others are empty.
    fn partly(kind: Kind, told: &[&str]) -> Self {
        if told.iter().all(|text| text.is_empty()) {
            return Self::new(kind, "");
        }
        let told = told
            .iter()
            .map(|text| if text.is_empty() { UNTOLD } else { *text });
        let told: Vec<&str> = told.collect();
        Self::new(kind, told.join(" "))
    }

    /// Itself, and what it may have been called where its name or a part of it could not be told.
    pub(crate) fn perhaps(&self) -> impl Iterator<Item = Self> {
        let blanks = self.name.match_indices(' ').map(|(place, _)| place);
        let partly = blanks.flat_map(|place| {
            let (first, last) = (&self.name[..place], &self.name[place + 1..]);
            [[first, ""], ["", last]].map(|told| Self::partly(self.kind, &told))
        });
        let partly: Vec<Self> = partly.collect();
        [self.clone()]
            .into_iter()
            .chain(partly)
            .chain([self.untold()])
    }

    /// Whether a refusal may be for want of it, where nobody could read what it is.
    pub(crate) fn may_be_wanting_by(&self, refusal: &Refusal) -> bool {
        match refusal {
            Refusal::Unknown { .. } => true,
            Refusal::OffMeter { .. } => self.kind == Kind::Meter,
            Refusal::Vacant { .. } => self.kind == Kind::Component,
            Refusal::ConditionForbids { .. } => self.kind == Kind::Condition,
            Refusal::Impossible { field, .. } => match *field {
                "location" => self.kind == Kind::Location,
                "measurand" => self.kind == Kind::Procedure,
                "positions" => self.kind == Kind::CarType,
                _ => false,
            },
            _ => false,
        }
    }

    /// The thing that a fact brings and others refer to. What is missing inside an assembly
    /// leaves the assembly unfinished.
    pub(crate) fn brought_by(fact: &Fact) -> Option<Self> {
        Some(match fact {
            Fact::PartDefined(part) => Self::new(Kind::Part, &part.number),
            Fact::CarTypeDefined(it) => Self::new(Kind::CarType, &it.name),
            Fact::TaskDefined(task) => Self::new(Kind::Task, &task.code),
            Fact::ProcedureDefined(it) => Self::new(Kind::Procedure, &it.code),
            Fact::CarRegistered(car) => Self::new(Kind::Car, &car.number),
            Fact::UnitFormed(unit) => Self::new(Kind::Unit, &unit.number),
            Fact::ComponentReceived(receipt) => Self::component(&receipt.component),
            Fact::TestRecorded(test) => Self::new(Kind::Test, &test.id),
            Fact::LocationDefined(it) => Self::location(&it.name),
            Fact::MeterReplaced { car, meter, .. } => {
                Self::new(Kind::Meter, format!("{car} {}", meter.name()))
            }
            Fact::ConditionJudged { component, .. } => Self::condition(component),
            Fact::ModificationIssued(it) => Self::modification(&it.number),
            Fact::Fitted(fitting) => match &fitting.at {
                HostPosition {
                    host: Host::Assembly(host),
                    ..
                } => Self::component(host),
                HostPosition {
                    host: Host::Car(car),
                    position,
                } => Self::new(Kind::Fitted, format_args!("{car} {position}")),
            },
            _ => return None,
        })
    }

    /// The things that a fact refers to, without which it cannot be true.
    pub(crate) fn needed_by(fact: &Fact) -> Vec<Self> {
        let car = |number: &dyn Display| Self::new(Kind::Car, number);
        let part = |number: &dyn Display| Self::new(Kind::Part, number);
        let applies_to = |to: &AppliesTo| match to {
            AppliesTo::Part(number) => part(number),
            AppliesTo::CarType(name) => Self::new(Kind::CarType, name),
        };
        let subject = |of: &Subject| match of {
            Subject::Component(component) => Self::component(component),
            Subject::Car(number) => car(number),
        };
        match fact {
            Fact::PartDefined(it) => {
                let inner = it.positions.iter().flat_map(|inner| &inner.approved);
                let earlier = it.replaces.iter().map(|one| &one.part);
                inner.chain(earlier).map(|number| part(number)).collect()
            }
            Fact::CarTypeDefined(it) => {
                let approved = it.positions.iter().flat_map(|place| &place.approved);
                approved.map(|number| part(number)).collect()
            }
            Fact::TaskDefined(task) => vec![applies_to(&task.applies_to)],
            Fact::ProcedureDefined(it) => {
                let task = it.task.iter().map(|code| Self::new(Kind::Task, code));
                task.chain([applies_to(&it.applies_to)]).collect()
            }
            Fact::CarRegistered(it) => vec![Self::new(Kind::CarType, &it.car_type)],
            Fact::UnitFormed(unit) => unit.cars.iter().map(|place| car(&place.car)).collect(),
            Fact::TrainFormed(train) => {
                let of = |vehicle: &Vehicle| match vehicle {
                    Vehicle::Car(number, _) => car(number),
                    Vehicle::Unit(number, _) => Self::new(Kind::Unit, number),
                };
                train.vehicles.iter().map(of).collect()
            }
            Fact::ComponentReceived(receipt) => {
                let location = Self::location(&receipt.location);
                vec![part(&receipt.component.part), location]
            }
            Fact::Fitted(fitting) => Self::needed_to_fit(fitting),
            Fact::Relocated(it) => {
                let of = &it.component;
                vec![
                    Self::component(of),
                    Self::condition(of),
                    Self::location(&it.to),
                ]
            }
            Fact::ConditionJudged { component, .. } => vec![Self::component(component)],
            Fact::SettingMade(made) => {
                let place = format_args!("{} {}", made.at.car, made.at.position);
                vec![car(&made.at.car), Self::new(Kind::Fitted, place)]
            }
            Fact::TaskDone {
                subject: of, task, ..
            } => vec![subject(of), Self::new(Kind::Task, task)],
            Fact::TestRecorded(test) => {
                vec![
                    subject(&test.subject),
                    Self::new(Kind::Procedure, &test.procedure),
                ]
            }
            other => Self::needed_on_car(other),
        }
    }

    /// The same for meters and cut-outs.
    fn needed_on_car(fact: &Fact) -> Vec<Self> {
        match fact {
            Fact::ReadingTaken(it) => {
                let meter = format!("{} {}", it.car, it.meter.name());
                vec![Self::car(&it.car), Self::new(Kind::Meter, meter)]
            }
            Fact::MeterReplaced { car, .. } => vec![Self::car(car)],
            Fact::Isolated(cut_out) => vec![Self::car(&cut_out.at.car)],
            Fact::IsolationEnded { at, proved_by } => {
                vec![Self::car(&at.car), Self::new(Kind::Test, proved_by)]
            }
            other => Self::needed_by_change(other),
        }
    }

    /// What is fitted in its condition, where, and where it went.
    fn needed_to_fit(fitting: &Fitting) -> Vec<Self> {
        let component = &fitting.component;
        let host = match &fitting.at.host {
            Host::Car(number) => Self::car(number),
            Host::Assembly(component) => Self::component(component),
        };
        let to = fitting
            .ended
            .iter()
            .map(|end| Self::location(&end.removal.to));
        let named = [Self::component(component), host, Self::condition(component)];
        named.into_iter().chain(to).collect()
    }

    /// The same for what is said of changes, concessions, checks of the fleet and holds.
    fn needed_by_change(fact: &Fact) -> Vec<Self> {
        match fact {
            // It may name positions, as a concession does.
            Fact::ModificationIssued(it) => match &it.scope {
                ModificationScope::Components { part, .. } => {
                    vec![Self::new(Kind::Part, part), Self::new(Kind::CarType, "")]
                }
                ModificationScope::Cars { car_type, .. } => vec![Self::car_type(car_type)],
            },
            Fact::Embodied {
                subject: of,
                modification,
                ..
            } => {
                let of = match of {
                    Subject::Component(component) => Self::component(component),
                    Subject::Car(number) => Self::car(number),
                };
                vec![of, Self::modification(modification)]
            }
            // It names a position and not the car type that has it.
            Fact::ConcessionGranted(it) => {
                let number = it.allows.part().into_iter();
                let part = number.map(|number| Self::new(Kind::Part, number));
                part.chain([Self::new(Kind::CarType, "")]).collect()
            }
            Fact::PlateChanged(it) => vec![Self::component(&it.component)],
            Fact::VisitPlanned(it) => {
                let modifications = it.modifications.iter().map(Self::modification);
                let unit = Self::new(Kind::Unit, &it.unit);
                [unit].into_iter().chain(modifications).collect()
            }
            Fact::FleetCheckOpened(check) => check
                .cars
                .iter()
                .map(|number| Self::new(Kind::Car, number))
                .collect(),
            Fact::HeldAsEvidence { held, .. } => match held {
                Held::Component(component) => vec![Self::component(component)],
                Held::Car(number) => vec![Self::new(Kind::Car, number)],
                Held::Entry(_) => Vec::new(),
            },
            _ => Vec::new(),
        }
    }
}

impl Display for Thing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.name.as_str() {
            name if name.contains(UNTOLD) => {
                write!(f, "{} {}", self.kind.called(), name.replace(UNTOLD, "?"))
            }
            "" => write!(f, "what {} lists", self.kind.table()),
            name => write!(f, "{} {name}", self.kind.called()),
        }
    }
}
