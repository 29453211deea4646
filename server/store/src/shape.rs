//! Few shapes of statements. A statement's text has as many places as it is given values; databases
//! keep a statement ready by its text, and would keep none of thousands.

/// The values, the last of them as often again as makes a power of two: for what is looked up, and
/// for updates, which say the same if they say it twice.
pub(crate) fn padded<T>(values: &[T]) -> impl Iterator<Item = &T> {
    let more = values.len().next_power_of_two() - values.len();
    let last = values.last().into_iter();
    values.iter().chain(last.cycle().take(more))
}

/// The values in blocks of powers of two, at most so many: for inserts, which say it twice if they
/// say it twice.
pub(crate) fn blocks<T>(values: &[T], most: usize) -> impl Iterator<Item = &[T]> {
    let mut rest = values;
    std::iter::from_fn(move || {
        let size = 1 << rest.len().checked_ilog2()?;
        let (block, more) = rest.split_at(size.min(most));
        rest = more;
        Some(block)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_lost_and_only_the_last_is_said_again() {
        for count in 0..70 {
            let values: Vec<usize> = (0..count).collect();
            let padded: Vec<usize> = padded(&values).copied().collect();
            assert_eq!(
                padded.len(),
                if count == 0 {
                    0
                } else {
                    count.next_power_of_two()
                }
            );
            assert_eq!(padded[..count], values);
            assert!(padded.iter().skip(count).all(|more| *more == count - 1));
        }
    }

    #[test]
    fn blocks_are_powers_of_two_and_hold_everything_once() {
        for count in 0..70 {
            let values: Vec<usize> = (0..count).collect();
            let blocks: Vec<&[usize]> = blocks(&values, 16).collect();
            assert_eq!(blocks.concat(), values);
            let sizes = blocks.iter().map(|block| block.len());
            assert!(
                sizes
                    .clone()
                    .all(|size| size.is_power_of_two() && size <= 16)
            );
            assert!(blocks.len() <= count / 16 + 4);
        }
    }
}
