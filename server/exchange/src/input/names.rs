//! What an input is read beside: positions of cars by any of their names, and which things of few
//! kinds there are.

use super::cells::Cells;
use super::listed::Listed;
use super::things::{Kind, Thing};
use crate::columns::Table;
use domain::configuration::car::Car;
use domain::identity::{CarNumber, CarTypeName, PositionCode, ProcedureCode, Revision, UnitNumber};
use domain::ledger::dossier::{Documents, InForce};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::test_record::procedure::Procedure;
use domain::time::Day;
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// Why a text names no position.
pub(super) struct NotNamed {
    /// What was expected.
    pub(super) expected: String,
    /// What is not known, for want of which nothing can be named.
    pub(super) wants: Option<Thing>,
}

/// The cars and their types by which positions are named, procedures, and what is listed: those
/// of the register, and those that the input has brought so far.
#[derive(Debug, Clone, Default)]
pub struct Names {
    documents: Documents,
    cars: HashMap<CarNumber, Car>,
    /// Procedures of which rows could not be read; empty for whichever it may have been.
    procedures_missed: HashSet<String>,
    /// None where the input is read by itself: nobody knows then what the register has.
    listed: Option<Listed>,
}

impl Names {
    /// Of a register: its design data, and its cars with the units that they run in.
    pub fn of(
        documents: Documents,
        cars: impl IntoIterator<Item = (Car, Option<UnitNumber>)>,
    ) -> Self {
        let mut listed = Listed::default();
        let parts = documents.parts.keys();
        let parts = parts.map(|part| Thing::new(Kind::Part, part));
        let types = documents.car_types.keys();
        let types = types.map(|(name, _)| Thing::car_type(name));
        let tasks = documents.tasks.keys();
        let tasks = tasks.map(|task| Thing::new(Kind::Task, task));
        let procedures = documents.procedures.keys();
        let procedures = procedures.map(|(code, _)| Thing::new(Kind::Procedure, code));
        let design = parts.chain(types).chain(tasks).chain(procedures);
        design.for_each(|thing| listed.add(thing));
        let mut by_number = HashMap::new();
        for (car, unit) in cars {
            listed.add(Thing::car(&car.number));
            if let Some(unit) = unit {
                listed.add(Thing::new(Kind::Unit, unit));
            }
            by_number.insert(car.number.clone(), car);
        }
        Self {
            documents,
            cars: by_number,
            procedures_missed: HashSet::new(),
            listed: Some(listed),
        }
    }

    /// Whether rows of a table list things that are remembered.
    pub(super) fn lists(table: &Table) -> bool {
        Listed::lists(table)
    }

    /// Takes in a thing.
    pub(super) fn add(&mut self, thing: &Thing) {
        if let Some(listed) = &mut self.listed {
            listed.add(thing.clone());
        }
    }

    /// Takes in that a row lists something, whether or not it can be read.
    pub(super) fn list(&mut self, table: &Table, cells: &Cells<'_>) {
        if let Some(listed) = &mut self.listed {
            listed.add_row(table, cells);
        }
    }

    /// Takes in that some things of a table could not be told.
    pub(super) fn list_untold(&mut self, table: &Table) {
        if let (Some(listed), Some(thing)) = (&mut self.listed, Thing::of_table(table)) {
            listed.add(thing);
        }
    }

    /// Whether a thing of that name may be there.
    pub(super) fn may_have(&self, kind: Kind, name: &str) -> bool {
        let listed = self.listed.as_ref();
        listed.is_none_or(|listed| listed.may_have(kind, name))
    }

    /// Whether a car type has a position in any revision, where it is known; else what was expected.
    pub(super) fn has_position(
        &self,
        name: &CarTypeName,
        code: &PositionCode,
    ) -> Result<(), String> {
        let known = self
            .documents
            .car_types
            .keys()
            .any(|(known, _)| known == name);
        if known {
            self.documents.has_position(name, code)
        } else {
            Ok(())
        }
    }

    /// Takes in what could not be read.
    pub(super) fn miss(&mut self, things: &[Thing]) {
        let procedures = things.iter().filter(|thing| thing.kind == Kind::Procedure);
        let names = procedures.map(|thing| thing.name.clone());
        self.procedures_missed.extend(names);
    }

    /// A procedure in a revision, where it is known with all its rows.
    pub(super) fn procedure(&self, key: &(ProcedureCode, Revision)) -> Option<&Procedure> {
        let known = self.documents.procedures.get(key);
        let mut missed = self.procedures_missed.iter();
        let misses_rows = missed.any(|name| name.is_empty() || name == key.0.as_str());
        let known = known.filter(|_| !misses_rows)?;
        Some(&known.document)
    }

    /// Takes in what a row has brought.
    pub(super) fn learn(&mut self, fact: &Fact) {
        match fact {
            Fact::ProcedureDefined(procedure) => {
                let key = (procedure.code.clone(), procedure.revision.clone());
                let document = Arc::new(procedure.clone());
                let by = Seq(0);
                let known = self.documents.procedures.entry(key);
                known.or_insert(InForce { by, document });
            }
            Fact::CarTypeDefined(car_type) => {
                let car_type = Arc::new((**car_type).clone());
                self.documents.put_car_type(Seq(0), car_type);
            }
            Fact::CarRegistered(car) => {
                self.cars.insert(car.number.clone(), car.clone());
            }
            _ => {}
        }
    }

    /// The one position of a car that a name is of, by the baseline of a day; else what was
    /// expected.
    pub(super) fn position(
        &self,
        car: &CarNumber,
        name: &str,
        on: Day,
    ) -> Result<PositionCode, NotNamed> {
        let lacking = |wants| {
            NotNamed {
            expected: "a reference designation such as =BS1-Q1; for other names of positions, a car that is known".to_owned(),
            wants: Some(wants),
        }
        };
        let known = self.cars.get(car).ok_or_else(|| lacking(Thing::car(car)))?;
        let car_type = self.documents.car_type(known, on);
        let car_type = car_type.ok_or_else(|| lacking(Thing::car_type(&known.car_type)))?;
        let named = self.documents.place_named(car_type, name);
        named.map_err(|why| NotNamed {
            expected: why.to_string(),
            wants: None,
        })
    }
}
