//! Symbols in rows, so that none covers another and each stays near its place.

/// Where a symbol stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Place {
    /// Its middle.
    pub(crate) x: i32,
    /// Its row, from 0 nearest to what is drawn.
    pub(crate) lane: usize,
}

/// Puts symbols of a width into as few rows as a first fit finds, each at most `slack` from
/// where it belongs; the answers stand in the order of the wishes. Quadratic at worst, in a
/// hundred symbols.
pub(crate) fn in_lanes(wishes: &[i32], width: i32, slack: i32) -> Vec<Place> {
    let mut order: Vec<usize> = (0..wishes.len()).collect();
    order.sort_by_key(|&symbol| wishes[symbol]);
    let mut places = vec![Place { x: 0, lane: 0 }; wishes.len()];
    let mut lanes: Vec<Vec<usize>> = Vec::new();
    for symbol in order {
        let wish = wishes[symbol];
        let least =
            |lane: &Vec<usize>| lane.last().map_or(i32::MIN, |&last| places[last].x + width);
        let room = lanes.iter().position(|lane| least(lane) <= wish + slack);
        let lane = room.unwrap_or_else(|| {
            lanes.push(Vec::new());
            lanes.len() - 1
        });
        let x = least(&lanes[lane]).max(wish - slack);
        lanes[lane].push(symbol);
        places[symbol] = Place { x, lane };
    }
    for lane in &lanes {
        relax(lane, wishes, width, &mut places);
    }
    places
}

/// Moves the symbols of a row back to where they belong, as far as their neighbours let them.
fn relax(lane: &[usize], wishes: &[i32], width: i32, places: &mut [Place]) {
    let mut most = i32::MAX;
    for &symbol in lane.iter().rev() {
        let x = &mut places[symbol].x;
        *x = wishes[symbol].min(most).max(*x);
        most = *x - width;
    }
}

/// How many rows there are.
pub(crate) fn count(places: &[Place]) -> usize {
    places.iter().map(|place| place.lane + 1).max().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_room_stands_where_it_belongs_in_one_row() {
        let places = in_lanes(&[500, 10, 100], 50, 20);
        assert_eq!(places, [500, 10, 100].map(|x| Place { x, lane: 0 }));
    }

    #[test]
    fn symbols_of_a_row_never_overlap_and_stay_near_their_place() {
        let wishes: Vec<i32> = (0..108).map(|n| (n * n * 7) % 260).collect();
        let places = in_lanes(&wishes, 50, 20);
        for (one, place) in places.iter().enumerate() {
            assert!((place.x - wishes[one]).abs() <= 20, "{place:?}");
            for other in &places[..one] {
                let apart = (place.x - other.x).abs();
                assert!(place.lane != other.lane || 50 <= apart);
            }
        }
    }

    #[test]
    fn what_belongs_at_one_place_is_stacked() {
        let places = in_lanes(&[100; 3], 50, 20);
        let lanes: Vec<usize> = places.iter().map(|place| place.lane).collect();
        assert_eq!(lanes, [0, 1, 2]);
        assert!(places.iter().all(|place| place.x == 100));
        assert_eq!(count(&places), 3);
    }
}
