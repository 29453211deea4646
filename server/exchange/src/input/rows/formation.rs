//! Formations: how a generated fleet forms its units.

use super::few;
use super::order::in_order;
use crate::columns::FORMATIONS;
use crate::input::InputError;
use crate::input::cells::{Cells, Refused, known, whole, words};
use crate::input::groups::Groups;
use crate::input::source::Source;
use domain::configuration::car::Orientation;
use domain::identity::{CarTypeName, Revision};
use std::path::Path;

/// What a kind of unit is made of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Formation {
    /// Its name, with which its unit numbers begin.
    pub(crate) name: String,
    /// How many units of it come to one of a formation with share 1.
    pub(crate) share: u32,
    /// Its cars from the first to the last; at least one.
    pub(crate) cars: Vec<FormationCar>,
}

/// A car of a formation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct FormationCar {
    pub(crate) car_type: CarTypeName,
    pub(crate) revision: Revision,
    pub(crate) orientation: Orientation,
}

const NAME_MAX_CHARS: usize = 12;

/// Reads `formations.csv` of a folder, which must be there and list at least one.
pub(crate) fn read_all(folder: &Path) -> Result<Vec<Formation>, Vec<InputError>> {
    let absent = || {
        let expected = "a file that lists at least one formation";
        vec![InputError::of_file("formations.csv", "", expected)]
    };
    let mut source = Source::Folder(folder.to_owned());
    let rows = source.open(&FORMATIONS).ok_or_else(absent)??;
    let mut groups = Groups::new(rows, few(&["formation"]));
    let (mut formations, mut errors) = (Vec::new(), Vec::new());
    while let Some(group) = groups.next() {
        errors.extend(group.errors);
        let records = group.records.iter();
        let mut cells: Vec<Cells> = records.map(|r| Cells::new(&groups.rows, r)).collect();
        formations.extend(read(&mut cells));
        errors.extend(cells.into_iter().flat_map(Cells::into_errors));
    }
    if formations.is_empty() && errors.is_empty() {
        errors = absent();
    }
    errors.is_empty().then_some(formations).ok_or(errors)
}

/// Reads the rows of one formation.
fn read(rows: &mut [Cells<'_>]) -> Result<Formation, Refused> {
    let cars = in_order(rows, |cells| {
        let name = cells.need("formation", words(NAME_MAX_CHARS));
        let share = cells.need("share", whole(1..=1_000));
        let car_type = cells.need("car_type", known);
        let revision = cells.need("revision", known);
        let orientation = cells.need("orientation", known);
        let car = FormationCar {
            car_type: car_type?,
            revision: revision?,
            orientation: orientation?,
        };
        Ok((name?, share?, car))
    })?;
    let mut formation = Formation {
        name: String::new(),
        share: 1,
        cars: Vec::new(),
    };
    for (name, share, car) in cars {
        (formation.name, formation.share) = (name, share);
        formation.cars.push(car);
    }
    Ok(formation)
}
