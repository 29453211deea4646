//! What comes into the register inside assemblies.

use super::chance::{Chance, Of};
use super::component::{Arrival, Component, Life};
use super::plan::CountsFromBirth;
use super::{Generator, Result};
use crate::columns::INNER_FITMENTS;
use domain::configuration::component::Condition;

impl Generator<'_> {
    /// Fills an assembly that has come into the register with components as old as itself, on all
    /// levels, by a stream of chance of its own. What is scrapped must be empty, so an assembly
    /// that is scrapped, or will be when its life ends, stays so.
    pub(super) fn fill(
        &mut self,
        assembly: &Component,
        life: &Life<'_>,
        arrival: &Arrival,
    ) -> Result<()> {
        let positions = self.plan.inside(&assembly.part);
        let exchange = self.plan.exchange(&assembly.part, life.rates);
        let ends = exchange.is_some_and(|exchange| exchange.from == CountsFromBirth::Made);
        if positions.is_empty() || ends || arrival.condition == Condition::Scrapped {
            return Ok(());
        }
        self.assemblies += 1;
        let mut chance = Chance::new(self.options.seed, Of::Contents(self.assemblies));
        let arrival = Arrival {
            condition: Condition::Serviceable,
            ..arrival.clone()
        };
        for position in positions {
            let Some(part) = position.approved.first() else {
                continue;
            };
            let inner = self.receive(&mut chance, part, life, &arrival)?;
            self.write(
                &INNER_FITMENTS,
                &[
                    ("host_part", &assembly.part),
                    ("host_serial", &assembly.serial),
                    ("position", &position.code),
                    ("part", &inner.part),
                    ("serial", &inner.serial),
                    ("from", &arrival.received),
                ],
            )?;
        }
        Ok(())
    }
}
