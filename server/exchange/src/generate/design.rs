//! The design that a generated fleet is built to: parts, car types, tasks, procedures, rule sets
//! and formations, read from the design files of a folder.

use crate::columns::FORMATIONS;
use crate::input::rows::{Formation, read_formations};
use crate::input::{Input, InputError, Options};
use domain::configuration::car_type::CarType;
use domain::configuration::part::Part;
use domain::due::task::Task;
use domain::identity::{CarTypeName, Revision};
use domain::ledger::fact::Fact;
use domain::rule_set::RuleSet;
use domain::test_record::procedure::Procedure;
use domain::time::Zone;
use std::path::Path;

/// What the cars of a fleet are, which work is done on them, and by which rules they run.
#[derive(Debug, Clone)]
pub struct Design {
    pub(super) parts: Vec<Part>,
    pub(super) car_types: Vec<CarType>,
    pub(super) tasks: Vec<Task>,
    pub(super) procedures: Vec<Procedure>,
    pub(super) rule_sets: Vec<RuleSet>,
    pub(super) formations: Vec<Formation>,
}

impl Design {
    /// Reads the files of a folder that bear no date - `parts`, `part_positions`, `car_types`,
    /// `axles`, `positions`, `lines`, `braked_weights`, `brake_groups`, `cylinder_pressures`, `tasks`,
    /// `procedures`, `rule_sets`, `rules` - and `formations`, which only the generator reads: its
    /// columns are those of [`FORMATIONS`].
    pub fn read(folder: &Path) -> Result<Self, Vec<InputError>> {
        let options = Options {
            zone: Zone::UTC,
            shift_days: 0,
        };
        let mut design = Self {
            parts: Vec::new(),
            car_types: Vec::new(),
            tasks: Vec::new(),
            procedures: Vec::new(),
            rule_sets: Vec::new(),
            formations: Vec::new(),
        };
        let mut errors = Vec::new();
        for item in Input::open(folder, options).map_err(|error| vec![error])? {
            match item.map(|located| located.value.fact) {
                Ok(Fact::PartDefined(part)) => design.parts.push(part),
                Ok(Fact::CarTypeDefined(car_type)) => design.car_types.push(*car_type),
                Ok(Fact::TaskDefined(task)) => design.tasks.push(task),
                Ok(Fact::ProcedureDefined(procedure)) => design.procedures.push(procedure),
                Ok(Fact::RuleSetIssued(rule_set)) => design.rule_sets.push(*rule_set),
                Ok(_) => break,
                Err(found) => errors.extend(found.errors),
            }
        }
        match read_formations(folder) {
            Ok(formations) => design.formations = formations,
            Err(found) => errors.extend(found),
        }
        if errors.is_empty() {
            errors = design.unknown_car_types();
        }
        errors.is_empty().then_some(design).ok_or(errors)
    }

    /// The car type of that name and revision.
    pub(super) fn car_type(&self, name: &CarTypeName, revision: &Revision) -> Option<&CarType> {
        let is_it = |car_type: &&CarType| car_type.name == *name && car_type.revision == *revision;
        self.car_types.iter().find(is_it)
    }

    fn unknown_car_types(&self) -> Vec<InputError> {
        let file = format!("{}.csv", FORMATIONS.name);
        let cars = self.formations.iter().flat_map(|formation| &formation.cars);
        cars.filter(|car| self.car_type(&car.car_type, &car.revision).is_none())
            .map(|car| {
                let name = format!("{} {}", car.car_type, car.revision);
                InputError::of_file(&file, &name, "a car type and revision of car_types.csv")
            })
            .collect()
    }
}
