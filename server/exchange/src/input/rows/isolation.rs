//! Isolations.

use super::Dated;
use super::fitment::{read_later, read_position};
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known, words};
use domain::identity::TestRecordId;
use domain::ledger::command::REASON_MAX_CHARS;
use domain::ledger::fact::{CutOut, Fact};
use domain::time::Instant;

/// Reads a row of `isolations`: that it began, and where it ended, that too.
pub(crate) fn read(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let at = read_position(cells, options, "since");
    let state = cells.need("state", known);
    let cause = cells.need("cause", words(REASON_MAX_CHARS));
    let since = cells.need("since", |text: &str| options.moment(text));
    let not_before = read_not_before(cells, options, since);
    let ended = read_end(cells, options, since);
    let cut_out = CutOut {
        at: at?,
        state: state?,
        cause: cause?,
        not_before: not_before?,
    };
    let end = ended?.map(|(until, proved_by)| Dated {
        fact: Fact::IsolationEnded {
            at: cut_out.at.clone(),
            proved_by,
        },
        at: until,
    });
    let begin = Dated {
        fact: Fact::Isolated(cut_out),
        at: since?,
    };
    Ok(std::iter::once(begin).chain(end).collect())
}

fn read_not_before(
    cells: &mut Cells<'_>,
    options: &Options,
    since: Result<Instant, Refused>,
) -> Result<Option<Instant>, Refused> {
    let not_before = cells.maybe("not_before", |text: &str| options.moment(text))?;
    match (not_before, since) {
        (Some(not_before), Ok(since)) if since < not_before => {
            Err(cells.refuse("not_before", "a time not after since"))
        }
        _ => Ok(not_before),
    }
}

/// Reads the end of an isolation: when, and the test that proved the brake restored.
fn read_end(
    cells: &mut Cells<'_>,
    options: &Options,
    since: Result<Instant, Refused>,
) -> Result<Option<(Instant, TestRecordId)>, Refused> {
    match (cells.is_filled("until"), cells.is_filled("proved_by")) {
        (false, false) => Ok(None),
        (false, true) => Err(cells.refuse("proved_by", "nothing while until is empty")),
        (true, _) => {
            let until = read_later(cells, options, ("since", since));
            let proved_by = cells.need("proved_by", known);
            Ok(Some((until?, proved_by?)))
        }
    }
}
