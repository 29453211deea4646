//! Settings that were made or found at positions.

use super::Dated;
use super::fitment::read_position;
use crate::input::calendar::Options;
use crate::input::cells::{Cells, Refused, known};
use domain::configuration::setting::{SettingHow, SettingMade};
use domain::ledger::fact::Fact;

/// Reads a row of `settings`.
pub(crate) fn read(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let place = read_position(cells, options, "at");
    let setting = cells.need("setting", known);
    let value = cells.need("value", known);
    let how = cells.maybe("how", known);
    let at = cells.need("at", |text: &str| options.moment(text));
    let fact = Fact::SettingMade(SettingMade {
        at: place?,
        setting: setting?,
        value: value?,
        how: how?.unwrap_or(SettingHow::Made),
    });
    Ok(vec![Dated { fact, at: at? }])
}
