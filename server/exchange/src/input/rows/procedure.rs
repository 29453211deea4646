//! Procedures of tests.

use super::Dated;
use super::order::same_in_all;
use super::task::read_applies_to;
use crate::input::calendar::{Options, design_begins};
use crate::input::cells::{Cells, Refused, known, words};
use crate::input::limits::{TITLE_MAX_CHARS, UNIT_MAX_CHARS};
use domain::due::task::AppliesTo;
use domain::identity::PositionCode;
use domain::ledger::command::REASON_MAX_CHARS;
use domain::ledger::fact::Fact;
use domain::test_record::procedure::{Bounds, Measurand, Measurands, Procedure};

/// Reads the rows of one procedure.
pub(crate) fn read(rows: &mut [Cells<'_>], _: &Options) -> Result<Dated, Refused> {
    let same = same_in_all(rows, &["title", "part", "car_type", "task", "source"]);
    let first = &mut rows[0];
    let code = first.need("procedure", known);
    let revision = first.need("revision", known);
    let title = first.need("title", words(TITLE_MAX_CHARS));
    let applies_to = read_applies_to(first);
    let measurands = read_measurands(rows, applies_to.as_ref().ok());
    let first = &mut rows[0];
    let task = first.maybe("task", known);
    let source = first.need("source", words(REASON_MAX_CHARS));
    same?;
    let procedure = Procedure {
        code: code?,
        revision: revision?,
        title: title?,
        applies_to: applies_to?,
        measurands: measurands?,
        task: task?,
        source: source?,
    };
    Ok(Dated {
        fact: Fact::ProcedureDefined(procedure),
        at: design_begins(),
    })
}

fn read_measurands(rows: &mut [Cells<'_>], of: Option<&AppliesTo>) -> Result<Measurands, Refused> {
    let all = rows.iter_mut().map(|cells| read_measurand(cells, of));
    let all: Vec<_> = all.collect();
    let all: Vec<Measurand> = all.into_iter().collect::<Result<_, _>>()?;
    Measurands::try_from(all).map_err(|why| rows[0].refuse("measurand", why.to_string()))
}

fn read_measurand(cells: &mut Cells<'_>, of: Option<&AppliesTo>) -> Result<Measurand, Refused> {
    let name = cells.need("measurand", known);
    let load = cells.maybe("load", known);
    let role = cells.need("role", known);
    let unit = cells.need("unit", words(UNIT_MAX_CHARS));
    let names = cells.names();
    let measured_at = cells.list("measured_at", |text: &str| {
        let code: PositionCode = known(text)?;
        if let (Some(names), Some(AppliesTo::CarType(name))) = (names, of) {
            names.has_position(name, &code)?;
        }
        Ok(code)
    });
    let during = cells.maybe("during", known);
    let (lower, upper) = (cells.maybe("lower", known), cells.maybe("upper", known));
    let bounds = Bounds::new(lower?, upper?).map_err(|why| cells.refuse("lower", why.to_string()));
    Ok(Measurand {
        name: name?,
        load: load?,
        role: role?,
        unit: unit?,
        bounds: bounds?,
        measured_at: measured_at?,
        during: during?,
    })
}
