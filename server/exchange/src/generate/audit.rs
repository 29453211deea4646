//! A check of the fleet that some cars have answered, and what is held as evidence.

use super::car::OnCar;
use super::component::Component;
use super::fitment::Fitted;
use super::sink::Maybe;
use super::{Generator, Result};
use crate::columns::{FLEET_CHECKS, HOLDS};
use domain::configuration::car_type::PositionKind;
use domain::configuration::fleet_check::{CARS_MAX, CarAnswer};
use domain::identity::PartNumber;

/// The check: hoses of one year of one part.
const TITLE: &str = "Coupling hoses of one year: crazing near the fitting";
const INSTRUCTION: &str = "Bend each hose at its fitting and look for cracks with a lamp; take a cracked one off and put it into quarantine.";
/// How many days ago it was opened, and in how many it is to be answered.
const OPENED_AGO: i64 = 5;
const ANSWER_IN: i64 = 9;

/// The cars asked, as they are generated.
#[derive(Debug, Default)]
pub(super) struct Asked {
    /// The part, with the year in which its serial numbers begin: those of the first that is found.
    batch: Option<(PartNumber, String)>,
    cars: Vec<String>,
}

impl Asked {
    /// Notes a car that carries the batch; of a fleet of any size at most as many as a check asks.
    pub(super) fn note(&mut self, car: &str, all: &[Fitted<'_>]) {
        let hoses = all
            .iter()
            .filter(|fitted| fitted.position.kind == PositionKind::Hose);
        let mut current = hoses.filter_map(Fitted::current);
        let carries = current.any(|stay| {
            let Component { part, serial, .. } = &stay.component;
            let year = serial.split('-').next().unwrap_or_default();
            let batch = self
                .batch
                .get_or_insert_with(|| (part.clone(), year.to_owned()));
            (part, year) == (&batch.0, batch.1.as_str())
        });
        if carries && self.cars.len() < CARS_MAX {
            self.cars.push(car.to_owned());
        }
    }
}

impl Generator<'_> {
    /// Writes the check with the answers of two cars of five.
    pub(super) fn write_check(&mut self) -> Result<()> {
        let Some((part, year)) = self.asked.batch.take() else {
            return Ok(());
        };
        let looked_for = format!("part {part}, serial numbers that begin with {year}");
        let since = self.span.ago(OPENED_AGO);
        let answer_by = self.options.as_at.plus_days(ANSWER_IN);
        for (place, car) in std::mem::take(&mut self.asked.cars).into_iter().enumerate() {
            let days = i64::try_from(place % 4).unwrap_or(0);
            let answer = match place % 5 {
                1 if place == 1 => Some((
                    CarAnswer::Defective,
                    "hose crazed over 30 mm at its fitting, its exchange is ordered",
                )),
                1 | 3 => Some((CarAnswer::Sound, "")),
                _ => None,
            };
            let (found, remark) = answer.unzip();
            let at = answer.map(|_| self.span.ago(OPENED_AGO - 1 - days));
            let by = answer.map(|_| "Tern, technician");
            self.write(
                &FLEET_CHECKS,
                &[
                    ("title", &TITLE),
                    ("instruction", &INSTRUCTION),
                    ("looked_for", &looked_for),
                    ("part", &part),
                    ("serials_begin", &year),
                    ("answer_by", &answer_by),
                    ("since", &since),
                    ("car", &car),
                    ("answer", &Maybe(found.map(CarAnswer::name))),
                    ("answered_by", &Maybe(by)),
                    ("answered_at", &Maybe(at)),
                    ("remark", &Maybe(remark)),
                ],
            )?;
        }
        Ok(())
    }

    /// Holds the first component that lies in quarantine.
    pub(super) fn hold(&mut self, on_car: &OnCar<'_>, component: &Component) -> Result<()> {
        if std::mem::replace(&mut self.held, true) {
            return Ok(());
        }
        let investigation = format!(
            "overrun of a signal near {} (invented): the maker examines the component",
            on_car.depot
        );
        self.write(
            &HOLDS,
            &[
                ("part", &component.part),
                ("serial", &component.serial),
                ("investigation", &investigation),
                ("since", &self.span.ago(3)),
            ],
        )
    }
}
