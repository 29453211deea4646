//! Readings and replaced meters.

use super::Dated;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known, words};
use domain::ledger::command::REASON_MAX_CHARS;
use domain::ledger::fact::{Fact, Reading};

/// Reads a row of `readings`.
pub(crate) fn read_reading(
    cells: &mut Cells<'_>,
    options: &Options,
) -> Result<Vec<Dated>, Refused> {
    let car = cells.need("car", known);
    let meter = cells.need("meter", known);
    let value = cells.need("value", known);
    let at = cells.need("at", |text: &str| options.moment(text));
    let confirmed = cells.maybe("confirmed", words(REASON_MAX_CHARS));
    let reading = Reading {
        car: car?,
        meter: meter?,
        value: value?,
        confirmed: confirmed?,
    };
    Ok(vec![Dated {
        fact: Fact::ReadingTaken(reading),
        at: at?,
    }])
}

/// Reads a row of `meter_replacements`.
pub(crate) fn read_replacement(
    cells: &mut Cells<'_>,
    options: &Options,
) -> Result<Vec<Dated>, Refused> {
    let car = cells.need("car", known);
    let meter = cells.need("meter", known);
    let last_value = cells.need("last_value", known);
    let first_value = cells.need("first_value", known);
    let at = cells.need("at", |text: &str| options.moment(text));
    let fact = Fact::MeterReplaced {
        car: car?,
        meter: meter?,
        last_value: last_value?,
        first_value: first_value?,
    };
    Ok(vec![Dated { fact, at: at? }])
}
