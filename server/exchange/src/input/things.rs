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
use domain::identity::{CarNumber, CarTypeName};
use domain::ledger::fact::Fact;
use std::fmt::{self, Display};

/// A thing that rows refer to, by the table that brings it and its name in texts.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Thing {
    pub(super) kind: Kind,
    /// Empty for some thing of the table that could not be told.
    pub(super) name: String,
}

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
}

impl Kind {
    const ALL: [Self; 9] = [
        Self::Part,
        Self::CarType,
        Self::Task,
        Self::Procedure,
        Self::Car,
        Self::Unit,
        Self::Component,
        Self::Fitted,
        Self::Test,
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

    /// The thing that a row would have brought, as far as its cells say.
    pub(crate) fn of_row(table: &Table, cells: &Cells<'_>) -> Option<Self> {
        if table.name == "inner_fitments" {
            let text = |column| cells.text(column);
            let name = format!("{} {}", text("host_part"), text("host_serial"));
            return Some(Self::new(Kind::Component, name.trim()));
        }
        let Self { kind, .. } = Self::of_table(table)?;
        let texts = kind.columns().1.iter().map(|column| cells.text(column));
        let texts: Vec<&str> = texts.collect();
        let whole = texts.iter().all(|text| !text.is_empty());
        let name = if whole {
            texts.join(" ")
        } else {
            String::new()
        };
        Some(Self::new(kind, name))
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
            Fact::ComponentReceived(receipt) => vec![part(&receipt.component.part)],
            Fact::Fitted(fitting) => {
                let host = match &fitting.at.host {
                    Host::Car(number) => car(number),
                    Host::Assembly(component) => Self::component(component),
                };
                vec![Self::component(&fitting.component), host]
            }
            Fact::Relocated(it) => vec![Self::component(&it.component)],
            Fact::ConditionJudged { component, .. } => vec![Self::component(component)],
            Fact::SettingMade(made) => {
                let place = format_args!("{} {}", made.at.car, made.at.position);
                vec![car(&made.at.car), Self::new(Kind::Fitted, place)]
            }
            Fact::ReadingTaken(reading) => vec![car(&reading.car)],
            Fact::MeterReplaced { car: number, .. } => vec![car(number)],
            Fact::TaskDone {
                subject: of, task, ..
            } => vec![subject(of), Self::new(Kind::Task, task)],
            Fact::TestRecorded(test) => {
                vec![
                    subject(&test.subject),
                    Self::new(Kind::Procedure, &test.procedure),
                ]
            }
            Fact::Isolated(cut_out) => vec![car(&cut_out.at.car)],
            Fact::IsolationEnded { at, proved_by } => {
                vec![car(&at.car), Self::new(Kind::Test, proved_by)]
            }
            other => Self::needed_by_change(other),
        }
    }

    /// The same for what is said of changes, concessions, checks of the fleet and holds.
    fn needed_by_change(fact: &Fact) -> Vec<Self> {
        match fact {
            Fact::ModificationIssued(it) => vec![match &it.scope {
                ModificationScope::Components { part: number, .. } => Self::new(Kind::Part, number),
                ModificationScope::Cars { car_type, .. } => Self::new(Kind::CarType, car_type),
            }],
            Fact::Embodied { subject: of, .. } => match of {
                Subject::Component(component) => vec![Self::component(component)],
                Subject::Car(number) => vec![Self::new(Kind::Car, number)],
            },
            // It names a position and not the car type that has it.
            Fact::ConcessionGranted(it) => {
                let number = it.allows.part().into_iter();
                let part = number.map(|number| Self::new(Kind::Part, number));
                part.chain([Self::new(Kind::CarType, "")]).collect()
            }
            Fact::PlateChanged(it) => vec![Self::component(&it.component)],
            Fact::VisitPlanned(it) => vec![Self::new(Kind::Unit, &it.unit)],
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
            "" => write!(f, "what {} lists", self.kind.table()),
            name => write!(f, "{} {name}", self.kind.called()),
        }
    }
}
