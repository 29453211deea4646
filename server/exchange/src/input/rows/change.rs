//! Modifications with their embodiment, and concessions.

use super::Dated;
use super::done::read_subject;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known, words, yes_or_no};
use crate::input::limits::TITLE_MAX_CHARS;
use domain::configuration::concession::{Allowed, Concession};
use domain::configuration::effectivity::CarRanges;
use domain::configuration::modification::{Modification, ModificationScope};
use domain::ledger::command::REASON_MAX_CHARS;
use domain::ledger::fact::Fact;

fn ranges(text: &str) -> Result<CarRanges, String> {
    let expected = "cars by their numbers or from one to another, as 4101;4107 to 4112";
    known(text).map_err(|_: String| expected.to_owned())
}

/// Reads a row of `modifications`.
pub(crate) fn read_modification(
    cells: &mut Cells<'_>,
    options: &Options,
) -> Result<Vec<Dated>, Refused> {
    let number = cells.need("modification", known);
    let title = cells.need("title", words(TITLE_MAX_CHARS));
    let scope = read_scope(cells);
    let by = cells.need("by", |text: &str| options.day(text));
    let source = cells.need("source", words(REASON_MAX_CHARS));
    let at = cells.need("since", |text: &str| options.moment(text));
    let fact = Fact::ModificationIssued(Modification {
        number: number?,
        title: title?,
        scope: scope?,
        by: by?,
        source: source?,
    });
    Ok(vec![Dated { fact, at: at? }])
}

/// Reads either a part with its state or a car type with its cars.
fn read_scope(cells: &mut Cells<'_>) -> Result<ModificationScope, Refused> {
    let positions = cells.list("positions", known);
    if cells.is_filled("part") {
        let part = cells.need("part", known);
        let state = cells.need("state", known);
        let cars = cells.maybe("cars", ranges);
        if cells.is_filled("car_type") {
            return Err(cells.refuse("car_type", "nothing where a part is named"));
        }
        return Ok(ModificationScope::Components {
            part: part?,
            state: state?,
            positions: positions?,
            cars: cars?,
        });
    }
    let car_type = cells.need("car_type", known);
    let cars = cells.need("cars", ranges);
    for column in ["state", "positions"] {
        if cells.is_filled(column) {
            return Err(cells.refuse(column, "nothing where no part is named"));
        }
    }
    Ok(ModificationScope::Cars {
        car_type: car_type?,
        cars: cars?,
    })
}

/// Reads a row of `embodied`.
pub(crate) fn read_embodied(
    cells: &mut Cells<'_>,
    options: &Options,
) -> Result<Vec<Dated>, Refused> {
    let modification = cells.need("modification", known);
    let subject = read_subject(cells);
    let at = cells.need("at", |text: &str| options.moment(text));
    let evidence = cells.need("evidence", words(REASON_MAX_CHARS));
    let fact = Fact::Embodied {
        modification: modification?,
        subject: subject?,
        evidence: evidence?,
    };
    Ok(vec![Dated { fact, at: at? }])
}

/// Reads a row of `concessions`.
pub(crate) fn read_concession(
    cells: &mut Cells<'_>,
    options: &Options,
) -> Result<Vec<Dated>, Refused> {
    let number = cells.need("concession", known);
    let cars = cells.need("cars", ranges);
    let position = cells.need("position", known);
    let allows = read_allowed(cells);
    let values = cells.maybe("values", known);
    let reason = cells.need("risk", words(REASON_MAX_CHARS));
    let until = cells.need("until", |text: &str| options.day(text));
    let at = cells.need("since", |text: &str| options.moment(text));
    let fact = Fact::ConcessionGranted(Concession {
        number: number?,
        cars: cars?,
        position: position?,
        allows: allows?,
        values: values?,
        reason: reason?,
        until: until?,
    });
    Ok(vec![Dated { fact, at: at? }])
}

/// Reads either the part or the setting that is allowed.
fn read_allowed(cells: &mut Cells<'_>) -> Result<Allowed, Refused> {
    if !cells.is_filled("setting") {
        if cells.is_filled("outside_range") {
            return Err(cells.refuse("outside_range", "nothing where no setting is named"));
        }
        return Ok(Allowed::Part(cells.need("part", known)?));
    }
    if cells.is_filled("part") {
        return Err(cells.refuse("setting", "nothing where a part is named"));
    }
    let outside = cells.maybe("outside_range", yes_or_no);
    let setting = cells.need("setting", known)?;
    Ok(match outside? {
        Some(true) => Allowed::SettingOutOfRange(setting),
        Some(false) | None => Allowed::Setting(setting),
    })
}
