//! Checks of the fleet with the answers of their cars, and evidence holds.

use super::Dated;
use super::done::read_subject;
use super::order::same_in_all;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known, words};
use crate::input::limits::TITLE_MAX_CHARS;
use domain::configuration::component::Subject;
use domain::configuration::fleet_check::{EarlierAnswer, FleetCheck};
use domain::configuration::held::Held;
use domain::configuration::looked_for::{BatchSought, LookedFor};
use domain::identity::CarNumber;
use domain::ledger::command::REASON_MAX_CHARS;
use domain::ledger::fact::Fact;
use std::collections::BTreeSet;

/// The most characters with which serial numbers are said to begin.
const SEARCHED_MAX_CHARS: usize = 40;

/// Reads the rows of a check.
pub(crate) fn read_check(rows: &mut [Cells<'_>], options: &Options) -> Result<Dated, Refused> {
    let same = same_in_all(
        rows,
        &[
            "instruction",
            "looked_for",
            "part",
            "serials_begin",
            "batch",
            "answer_by",
        ],
    );
    let mut cars = BTreeSet::new();
    let mut answered = Vec::new();
    let mut read = Ok(());
    for cells in &mut *rows {
        match read_car(cells, options) {
            Ok((car, answer)) => {
                if !cars.insert(car) {
                    read = Err(cells.refuse("car", "each car once in a check"));
                }
                answered.extend(answer);
            }
            Err(refused) => read = Err(refused),
        }
    }
    let cells = &mut rows[0];
    let title = cells.need("title", words(TITLE_MAX_CHARS));
    let instruction = cells.need("instruction", words(REASON_MAX_CHARS));
    let looked_for = cells.need("looked_for", words(REASON_MAX_CHARS));
    let sought = read_sought(cells);
    let answer_by = cells.need("answer_by", |text: &str| options.day(text));
    let at = cells.need("since", |text: &str| options.moment(text));
    same?;
    read?;
    let check = FleetCheck {
        title: title?,
        instruction: instruction?,
        looked_for: looked_for?,
        sought: sought?,
        cars,
        answer_by: answer_by?,
        answered,
    };
    Ok(Dated {
        fact: Fact::FleetCheckOpened(Box::new(check)),
        at: at?,
    })
}

/// Reads what a check looks for, as a question that can be asked again.
fn read_sought(cells: &mut Cells<'_>) -> Result<Option<LookedFor>, Refused> {
    let part = cells.maybe("part", known);
    let begins = cells.maybe("serials_begin", words(SEARCHED_MAX_CHARS));
    let batch = cells.maybe("batch", known);
    match (part?, begins?, batch?) {
        (None, Some(_), _) => Err(cells.refuse("serials_begin", "nothing while part is empty")),
        (None, None, Some(_)) => Err(cells.refuse("batch", "nothing while part is empty")),
        (None, None, None) => Ok(None),
        (Some(_), Some(_), Some(_)) => {
            Err(cells.refuse("batch", "nothing where serials_begin is filled"))
        }
        (Some(part), None, Some(batch)) => Ok(Some(LookedFor::Batch {
            part,
            batch: BatchSought::Is(batch),
        })),
        (Some(part), begins, None) => Ok(Some(LookedFor::Serials {
            part,
            begins: begins.unwrap_or_default(),
        })),
    }
}

/// Reads a car of a check, with its answer if it has one.
fn read_car(
    cells: &mut Cells<'_>,
    options: &Options,
) -> Result<(CarNumber, Option<EarlierAnswer>), Refused> {
    let car: Result<CarNumber, Refused> = cells.need("car", known);
    if !cells.is_filled("answer") {
        for column in ["answered_by", "answered_at", "remark"] {
            if cells.is_filled(column) {
                return Err(cells.refuse(column, "nothing while answer is empty"));
            }
        }
        return Ok((car?, None));
    }
    let answer = cells.need("answer", known);
    let by = cells.need("answered_by", known);
    let at = cells.need("answered_at", |text: &str| options.moment(text));
    let remark = cells.maybe("remark", words(REASON_MAX_CHARS));
    let car = car?;
    let answer = EarlierAnswer {
        car: car.clone(),
        answer: answer?,
        remark: remark?.unwrap_or_default(),
        by: by?,
        at: at?,
    };
    Ok((car, Some(answer)))
}

/// Reads a row of `holds`.
pub(crate) fn read_hold(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let subject = read_subject(cells);
    let investigation = cells.need("investigation", words(REASON_MAX_CHARS));
    let at = cells.need("since", |text: &str| options.moment(text));
    let fact = Fact::HeldAsEvidence {
        held: match subject? {
            Subject::Component(component) => Held::Component(component),
            Subject::Car(car) => Held::Car(car),
        },
        investigation: investigation?,
    };
    Ok(vec![Dated { fact, at: at? }])
}
