//! A modification that is on its way: issued some months ago, embodied in a part of what is fitted.

use super::fitment::Fitted;
use super::fleet::UnitPlan;
use super::{Generator, Result};
use crate::columns::{EMBODIED, MODIFICATIONS};
use domain::configuration::part::Part;
use domain::identity::{ModificationState, PartNumber};
use domain::time::Day;

/// The campaign of a fleet: the last state of the first part that has several.
#[derive(Debug, Clone)]
pub(super) struct Campaign {
    part: PartNumber,
    /// The state that components come in.
    before: ModificationState,
    after: ModificationState,
    issued: Day,
}

/// How many days ago it was issued.
const ISSUED_AGO: i64 = 210;
/// The days over which it was embodied since.
const EMBODIED_DAYS: u64 = 180;
/// By how many days from now it is to be embodied everywhere.
const DUE_IN: i64 = 75;
pub(super) const NUMBER: &str = "TRR-M-12";

impl Campaign {
    pub(super) fn of(parts: &[Part], as_at: Day) -> Option<Self> {
        parts
            .iter()
            .find_map(|part| match part.modification_states.as_slice() {
                [before, .., after] => Some(Self {
                    part: part.number.clone(),
                    before: before.clone(),
                    after: after.clone(),
                    issued: as_at.plus_days(-ISSUED_AGO),
                }),
                _ => None,
            })
    }
}

impl Campaign {
    /// Whether something that it is for belongs on a car of a unit.
    pub(super) fn concerns(&self, unit: &UnitPlan<'_>) -> bool {
        let positions = unit.cars.iter().flat_map(|car| &car.car_type.positions);
        let mut approved = positions.flat_map(|position| &position.approved);
        approved.any(|part| *part == self.part)
    }
}

impl Generator<'_> {
    pub(super) fn write_campaign(&mut self) -> Result<()> {
        let Some(campaign) = self.campaign.clone() else {
            return Ok(());
        };
        self.write(
            &MODIFICATIONS,
            &[
                ("modification", &NUMBER),
                (
                    "title",
                    &"valve seat of another material, fitted in the workshop",
                ),
                ("part", &campaign.part),
                ("state", &campaign.after),
                ("by", &self.options.as_at.plus_days(DUE_IN)),
                ("source", &"TRR engineering instruction 12 (invented)"),
                ("since", &campaign.issued),
            ],
        )
    }

    /// The modification state in which the last component of a part came; one in thirty of the part
    /// with the campaign bears none that can be read.
    pub(super) fn arrives_in(&self, part: &PartNumber) -> Option<ModificationState> {
        let campaign = self.campaign.as_ref()?;
        let serial = self.serials.get(part).copied().unwrap_or_default();
        let legible = campaign.part == *part && serial % 30 != 9;
        legible.then(|| campaign.before.clone())
    }

    /// Writes in which of the components fitted to a car the campaign is embodied: two of three,
    /// as far as they were there on the day.
    pub(super) fn write_embodied(&mut self, all: &[Fitted<'_>]) -> Result<()> {
        let Some(campaign) = self.campaign.clone() else {
            return Ok(());
        };
        let current = all.iter().filter_map(Fitted::current);
        for stay in current.filter(|stay| stay.component.part == campaign.part) {
            let number = serial_number(&stay.component.serial);
            let days = i64::try_from(number * 7 % EMBODIED_DAYS).unwrap_or(0);
            let day = campaign.issued.plus_days(days + 1);
            if number.is_multiple_of(3) || day <= stay.from.day {
                continue;
            }
            self.write(
                &EMBODIED,
                &[
                    ("modification", &NUMBER),
                    ("part", &stay.component.part),
                    ("serial", &stay.component.serial),
                    ("at", &day),
                    ("evidence", &format!("work order M12-{number}")),
                ],
            )?;
        }
        Ok(())
    }
}

/// The running number in a serial number of ours.
fn serial_number(serial: &str) -> u64 {
    let number = serial.rsplit('-').next();
    number.and_then(|number| number.parse().ok()).unwrap_or(0)
}
