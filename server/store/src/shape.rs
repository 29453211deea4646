//! Few shapes of statements. A statement's text has as many places as it is given values; databases
//! keep a statement ready by its text, and would keep none of thousands. Whoever comes first with a
//! shape waits until it is ready, so that there are few: powers of four.

/// The values, and nulls up to the next shape: for what is looked up, since nothing equals null.
pub(crate) fn padded<T>(values: &[T]) -> impl Iterator<Item = Option<&T>> {
    let more = shape(values.len()) - values.len();
    values
        .iter()
        .map(Some)
        .chain(std::iter::repeat_with(|| None).take(more))
}

/// The values, each meant, and the last again as often as fills the shape, not meant: for rows to
/// write, of which the statement takes those that are meant.
pub(crate) fn meant<T>(values: &[T]) -> impl Iterator<Item = (bool, &T)> {
    let more = shape(values.len()) - values.len();
    let last = values.last().into_iter().cycle().take(more);
    let again = last.map(|value| (false, value));
    values.iter().map(|value| (true, value)).chain(again)
}

/// The places of a statement for so many values.
fn shape(count: usize) -> usize {
    let mut places = 1;
    while places < count {
        places *= 4;
    }
    if count == 0 { 0 } else { places }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shapes_are_powers_of_four_and_hold_all_values() {
        let shapes: Vec<usize> = [0, 1, 2, 4, 5, 16, 17, 64, 65].map(shape).to_vec();
        assert_eq!(shapes, [0, 1, 4, 4, 16, 16, 64, 64, 256]);
    }

    #[test]
    fn nothing_is_lost_and_what_is_added_is_null_or_not_meant() {
        for count in 0..70 {
            let values: Vec<usize> = (0..count).collect();
            let padded: Vec<Option<&usize>> = padded(&values).collect();
            assert_eq!(padded.len(), shape(count));
            let told: Vec<usize> = padded.iter().copied().flatten().copied().collect();
            assert_eq!(told, values);
            let meant: Vec<(bool, &usize)> = meant(&values).collect();
            assert_eq!(meant.len(), shape(count));
            let told = meant.iter().filter(|(meant, _)| *meant);
            assert_eq!(told.map(|(_, value)| **value).collect::<Vec<_>>(), values);
        }
    }
}
