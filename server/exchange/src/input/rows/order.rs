//! Rows that belong together: the cars of a unit, the vehicles of a train, the values of a test.

use crate::input::cells::{Cells, Refused, whole};
use crate::input::limits::GROUP_MAX_ROWS;

/// Reads one thing from each row and puts them in the order of their places, which are 1, 2, 3
/// and so on. All rows are read, whatever is wrong with one.
pub(crate) fn in_order<T>(
    rows: &mut [Cells<'_>],
    read: impl Fn(&mut Cells<'_>) -> Result<T, Refused>,
) -> Result<Vec<T>, Refused> {
    let count = rows.len();
    let mut taken = vec![false; count];
    let mut things = Vec::with_capacity(count);
    for cells in rows {
        let place = cells.need("place", whole(1..=GROUP_MAX_ROWS));
        let free = place.and_then(|place| match taken.get_mut(place - 1) {
            Some(taken) if !*taken => {
                *taken = true;
                Ok(place)
            }
            _ => Err(cells.refuse(
                "place",
                format!("each of 1 to {count} once, in rows that follow"),
            )),
        });
        let thing = read(cells);
        things.push(free.and_then(|place| Ok((place, thing?))));
    }
    let mut things: Vec<(usize, T)> = things.into_iter().collect::<Result<_, _>>()?;
    things.sort_by_key(|(place, _)| *place);
    Ok(things.into_iter().map(|(_, thing)| thing).collect())
}

/// Checks that rows agree in what they say of the whole that they make.
pub(crate) fn same_in_all(rows: &mut [Cells<'_>], columns: &[&str]) -> Result<(), Refused> {
    let mut result = Ok(());
    let Some((first, others)) = rows.split_first_mut() else {
        return result;
    };
    for cells in others {
        for column in columns {
            if cells.text(column) != first.text(column) {
                let expected = format!("“{}”, as in the first row", first.text(column));
                result = Err(cells.refuse(column, expected));
            }
        }
    }
    result
}
