//! Test records.

use super::Dated;
use super::done::read_subject;
use super::order::same_in_all;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known};
use domain::ledger::fact::Fact;
use domain::test_record::procedure::Procedure;
use domain::test_record::record::{Instrument, MeasuredValue, TestRecord};

const OF_THE_WHOLE: [&str; 9] = [
    "procedure",
    "revision",
    "part",
    "serial",
    "car",
    "at",
    "tester",
    "instrument",
    "calibrated_until",
];

/// Reads the rows of one test record.
pub(crate) fn read(rows: &mut [Cells<'_>], options: &Options) -> Result<Dated, Refused> {
    let same = same_in_all(rows, &OF_THE_WHOLE);
    let first = &mut rows[0];
    let id = first.need("test_record", known);
    let subject = read_subject(first);
    let procedure = first.need("procedure", known);
    let revision = first.need("revision", known);
    let key = procedure
        .clone()
        .and_then(|code| Ok((code, revision.clone()?)));
    let asking = first.names().zip(key.ok());
    let asking = asking.and_then(|(names, key)| names.procedure(&key));
    let values = read_values(rows, asking);
    let first = &mut rows[0];
    let at = first.need("at", |text: &str| options.moment(text));
    let tester = first.need("tester", known);
    let number = first.need("instrument", known);
    let calibrated_until = first.maybe("calibrated_until", |text: &str| options.day(text));
    same?;
    let record = TestRecord {
        id: id?,
        subject: subject?,
        procedure: procedure?,
        revision: revision?,
        at: at?,
        tester: tester?,
        instrument: Instrument {
            number: number?,
            calibrated_until: calibrated_until?,
        },
        values: values?,
    };
    Ok(Dated {
        at: record.at,
        fact: Fact::TestRecorded(record),
    })
}

/// Reads what was measured. All rows are read, whatever is wrong with one; where the procedure is
/// known, each holds what it asks for, once.
fn read_values(
    rows: &mut [Cells<'_>],
    asking: Option<&Procedure>,
) -> Result<Vec<MeasuredValue>, Refused> {
    let mut values: Vec<MeasuredValue> = Vec::with_capacity(rows.len());
    let mut refused = None;
    for cells in rows {
        let value = read_value(cells).and_then(|value| {
            let fits = asking.map_or(Ok(()), |procedure| procedure.takes(&value, &values));
            match fits {
                Ok(()) => Ok(value),
                Err(why) => Err(cells.refuse_for("measurand", why.to_string())),
            }
        });
        match value {
            Ok(value) => values.push(value),
            Err(why) => refused = Some(why),
        }
    }
    refused.map_or(Ok(values), Err)
}

fn read_value(cells: &mut Cells<'_>) -> Result<MeasuredValue, Refused> {
    let measurand = cells.need("measurand", known);
    let load = cells.maybe("load", known);
    let value = cells.need("value", known);
    Ok(MeasuredValue {
        measurand: measurand?,
        load: load?,
        value: value?,
    })
}
