//! Fitments, on cars and in assemblies.

use super::Dated;
use super::component::read_component;
use super::location::read_sent;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known};
use domain::configuration::component::{ComponentRef, PositionRef};
use domain::configuration::host::{Host, HostPosition};
use domain::identity::ConcessionNumber;
use domain::ledger::fact::{Ended, Fact, Fitting, Removal};
use domain::time::Instant;

/// Reads a row of `fitments`.
pub(crate) fn read(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let at = read_position(cells, options, "from").map(HostPosition::from);
    let concession = cells.maybe("concession", known);
    read_at(cells, options, (at, concession))
}

/// Reads a row of `inner_fitments`.
pub(crate) fn read_inner(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let part = cells.need("host_part", known);
    let serial = cells.need("host_serial", known);
    let position = cells.need("position", known);
    let at = part.and_then(|part| {
        Ok(HostPosition {
            host: Host::Assembly(ComponentRef {
                part,
                serial: serial?,
            }),
            position: position?,
        })
    });
    read_at(cells, options, (at, Ok(None)))
}

fn read_at(
    cells: &mut Cells<'_>,
    options: &Options,
    (at, concession): (
        Result<HostPosition, Refused>,
        Result<Option<ConcessionNumber>, Refused>,
    ),
) -> Result<Vec<Dated>, Refused> {
    let component = read_component(cells);
    let from = cells.need("from", |text: &str| options.moment(text));
    let ended = read_end(cells, options, from);
    let fitting = Fitting {
        component: component?,
        at: at?,
        concession: concession?,
        ended: ended?,
    };
    Ok(vec![Dated {
        fact: Fact::Fitted(fitting),
        at: from?,
    }])
}

/// Reads the columns `car` and `position`, by the baseline of the day in another column.
pub(super) fn read_position(
    cells: &mut Cells<'_>,
    options: &Options,
    since: &str,
) -> Result<PositionRef, Refused> {
    let car = cells.need("car", known);
    let since = options.moment(cells.text(since)).ok();
    let position = match (&car, since) {
        (Ok(car), Some(since)) => {
            let on = options.zone.day_of(since);
            cells.position("position", (car, on))
        }
        _ => cells.position_of_none("position"),
    };
    Ok(PositionRef {
        car: car?,
        position: position?,
    })
}

/// Reads the end of a fitment: all of its first four columns or none.
fn read_end(
    cells: &mut Cells<'_>,
    options: &Options,
    from: Result<Instant, Refused>,
) -> Result<Option<Ended>, Refused> {
    const WITH_UNTIL: [&str; 5] = [
        "removal_reason",
        "removed_to",
        "condition_after",
        "bound_for",
        "expected_on",
    ];
    if !cells.is_filled("until") {
        let mut alone = WITH_UNTIL
            .into_iter()
            .filter(|column| cells.is_filled(column));
        return match alone.next() {
            None => Ok(None),
            Some(column) => Err(cells.refuse(column, "nothing while until is empty")),
        };
    }
    let until = read_later(cells, options, ("from", from));
    let [reason, to, condition, ..] = WITH_UNTIL;
    let reason = cells.need(reason, known);
    let to = cells.need(to, known);
    let condition = cells.need(condition, known);
    let sent = read_sent(cells, options);
    Ok(Some(Ended {
        at: until?,
        removal: Removal {
            reason: reason?,
            to: to?,
            sent: sent?,
            condition: condition?,
            evidence: None,
        },
    }))
}

/// Reads the column `until`, which lies after another column's time.
pub(super) fn read_later(
    cells: &mut Cells<'_>,
    options: &Options,
    (column, begin): (&str, Result<Instant, Refused>),
) -> Result<Instant, Refused> {
    let until = cells.need("until", |text: &str| options.moment(text))?;
    match begin {
        Ok(begin) if until <= begin => Err(cells.refuse("until", format!("a time after {column}"))),
        _ => Ok(until),
    }
}
