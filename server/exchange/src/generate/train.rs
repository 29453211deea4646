//! Trains of the last day.

use super::fleet::UnitPlan;
use super::span::Moment;
use super::troubles::IN_YARD;
use super::{Generator, Result};
use crate::columns::TRAINS;
use domain::configuration::car::Orientation;

/// The most units of a train.
const COUPLED_UNITS_MAX: usize = 2;
/// Units with more cars run alone.
const COUPLED_CARS_MAX: usize = 4;

impl Generator<'_> {
    /// Puts a unit into a train, alone or coupled to the one before it.
    pub(super) fn write_train(&mut self, unit: &UnitPlan<'_>) -> Result<()> {
        let Some(number) = &unit.number else {
            return Ok(());
        };
        let formation = |number: &String| number.rsplit_once('-').map(|(name, _)| name.to_owned());
        let alone = COUPLED_CARS_MAX < unit.cars.len() || unit.place.is_multiple_of(3);
        let other = self
            .waiting
            .iter()
            .any(|waiting| formation(waiting) != formation(number));
        if alone || other {
            self.depart()?;
        }
        if !IN_YARD.strikes(unit.place) {
            self.waiting.push(number.clone());
        }
        if alone || self.waiting.len() == COUPLED_UNITS_MAX {
            self.depart()?;
        }
        Ok(())
    }

    /// Forms a train of the units that wait.
    pub(super) fn depart(&mut self) -> Result<()> {
        let units = std::mem::take(&mut self.waiting);
        if units.is_empty() {
            return Ok(());
        }
        self.trains += 1;
        let train = 9_000 + self.trains;
        let day = self.span.ago(1);
        let minute = 4 * 60 + i64::from(self.trains % 60);
        for (place, unit) in (1_u32..).zip(&units) {
            let turned = (self.trains + place).is_multiple_of(4);
            let orientation = if turned {
                Orientation::Reversed
            } else {
                Orientation::Forward
            };
            self.write(
                &TRAINS,
                &[
                    ("train", &train),
                    ("place", &place),
                    ("unit", unit),
                    ("orientation", &orientation.name()),
                    ("since", &Moment { day, minute }),
                ],
            )?;
        }
        Ok(())
    }
}
