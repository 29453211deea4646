//! The lines between two layers, each level piece on a track, so that none runs over another.
//! A line that comes down where another one goes down must turn off above it; where two demand
//! that of each other, one of them changes tracks in a free column.

/// Upright pieces nearer than this would look like one.
pub(super) const NEAR: i32 = 6;
/// Between two level pieces on one track.
const APART: i32 = 16;

/// What runs between two layers: where it begins above and where it ends below.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Wire {
    pub(super) uppers: Vec<i32>,
    pub(super) lowers: Vec<i32>,
}

/// How a wire gets from above to below.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Course {
    /// Straight down.
    Straight,
    /// Down to a track, along it and down.
    Track(usize),
    /// Along one track to a column, down it, and along another.
    Two {
        first: usize,
        column: i32,
        second: usize,
    },
}

/// The courses of wires, and how many tracks they take. Quadratic in the wires; their pins are
/// at least [`NEAR`] apart on either side.
pub(super) fn courses(wires: &[Wire]) -> (Vec<Course>, usize) {
    let mut channel = Channel::new(wires);
    let sequence = channel.in_sequence();
    let mut tracks: Vec<Option<usize>> = vec![None; channel.pieces.len()];
    let mut count = 0;
    for (at, piece) in sequence.iter().enumerate() {
        let below = |other: &&usize| {
            channel.before[*piece].contains(other) || channel.overlap(**other, *piece)
        };
        let earlier = sequence[..at].iter().filter(below);
        let lowest = earlier.filter_map(|other| tracks[*other]).max();
        let track = lowest.map_or(0, |track| track + 1);
        tracks[*piece] = Some(track);
        count = count.max(track + 1);
    }
    let track = |piece: usize| tracks[piece].unwrap_or(0);
    let course = |wire: usize| match channel.of_wire[wire] {
        None => Course::Straight,
        Some((piece, None)) => Course::Track(track(piece)),
        Some((first, Some((column, second)))) => Course::Two {
            first: track(first),
            column,
            second: track(second),
        },
    };
    ((0..wires.len()).map(course).collect(), count)
}

/// A wire, or one of the two parts of one, on one track.
#[derive(Debug, Clone)]
struct Piece {
    wire: Wire,
    left: i32,
    right: i32,
}

impl Piece {
    fn new(wire: Wire) -> Self {
        let all = || wire.uppers.iter().chain(&wire.lowers).copied();
        Self {
            left: all().min().unwrap_or(0),
            right: all().max().unwrap_or(0),
            wire,
        }
    }

    fn holds(&self, x: i32) -> bool {
        self.left < x && x < self.right
    }
}

/// The piece of a wire; or its first piece, the column, and its second piece. None where it runs
/// straight down.
type Parts = Option<(usize, Option<(i32, usize)>)>;

struct Channel {
    pieces: Vec<Piece>,
    /// The pieces that must lie above each piece.
    before: Vec<Vec<usize>>,
    of_wire: Vec<Parts>,
    /// Where something runs up or down.
    taken: Vec<i32>,
}

fn near(some: &[i32], others: &[i32]) -> bool {
    let near = |one: &i32| others.iter().any(|other| (one - other).abs() < NEAR);
    some.iter().any(near)
}

impl Channel {
    fn new(wires: &[Wire]) -> Self {
        let mut channel = Self {
            pieces: Vec::new(),
            before: Vec::new(),
            of_wire: Vec::new(),
            taken: Vec::new(),
        };
        for wire in wires {
            channel.taken.extend(wire.uppers.iter().chain(&wire.lowers));
            let straight = wire.uppers.len() == 1 && wire.uppers == wire.lowers;
            channel
                .of_wire
                .push((!straight).then_some((channel.pieces.len(), None)));
            if !straight {
                channel.pieces.push(Piece::new(wire.clone()));
            }
        }
        let pieces = &channel.pieces;
        let must = |lower: usize| -> Vec<usize> {
            let others = (0..pieces.len()).filter(|upper| *upper != lower);
            let above =
                |upper: &usize| near(&pieces[*upper].wire.uppers, &pieces[lower].wire.lowers);
            others.filter(above).collect()
        };
        channel.before = (0..pieces.len()).map(must).collect();
        channel
    }

    fn overlap(&self, one: usize, other: usize) -> bool {
        let (one, other) = (&self.pieces[one], &self.pieces[other]);
        one.left < other.right + APART && other.left < one.right + APART
    }

    /// The pieces from above to below: what must lie above comes first, and among what may come
    /// next, what crosses least.
    fn in_sequence(&mut self) -> Vec<usize> {
        let mut open: Vec<usize> = (0..self.pieces.len()).collect();
        let mut sequence = Vec::with_capacity(open.len());
        while !open.is_empty() {
            let is_free = |piece: &usize| !self.before[*piece].iter().any(|b| open.contains(b));
            let free = open.iter().copied().filter(is_free);
            let next = free.min_by_key(|piece| (self.saved(*piece, &open), *piece));
            match next {
                Some(next) => {
                    open.retain(|piece| *piece != next);
                    sequence.push(next);
                }
                None if self.part(&mut open) => {}
                None => sequence.append(&mut open),
            }
        }
        sequence
    }

    /// How many crossings more there are with a piece above all others than below them.
    fn saved(&self, piece: usize, others: &[usize]) -> i64 {
        let others = others.iter().filter(|other| **other != piece);
        let sum = others.map(|other| self.crossings(piece, *other) - self.crossings(*other, piece));
        sum.sum()
    }

    fn crossings(&self, upper: usize, lower: usize) -> i64 {
        let (upper, lower) = (&self.pieces[upper], &self.pieces[lower]);
        let down = upper
            .wire
            .lowers
            .iter()
            .filter(|x| lower.holds(**x))
            .count();
        let up = lower
            .wire
            .uppers
            .iter()
            .filter(|x| upper.holds(**x))
            .count();
        i64::try_from(down + up).unwrap_or(i64::MAX)
    }

    /// Parts a piece in two where pieces demand of each other to lie above: the first part goes
    /// to a free column, the second from there. Says whether there was a piece to part; there is
    /// one in every such circle, since a part lies above or below all others.
    fn part(&mut self, open: &mut Vec<usize>) -> bool {
        let whole = |piece: &usize| {
            self.of_wire.contains(&Some((*piece, None)))
                && !self.pieces[*piece].wire.lowers.is_empty()
        };
        let few = |piece: &usize| (self.before[*piece].len(), *piece);
        let Some(piece) = open.iter().copied().filter(whole).min_by_key(few) else {
            return false;
        };
        let Wire { uppers, lowers } = self.pieces[piece].wire.clone();
        let column = self.free_column(uppers.first().copied().unwrap_or(0));
        self.taken.push(column);
        let second = self.pieces.len();
        self.pieces[piece] = Piece::new(Wire {
            uppers,
            lowers: vec![column],
        });
        self.pieces.push(Piece::new(Wire {
            uppers: vec![column],
            lowers,
        }));
        let mut before = std::mem::take(&mut self.before[piece]);
        before.push(piece);
        self.before.push(before);
        open.push(second);
        for of_wire in &mut self.of_wire {
            if *of_wire == Some((piece, None)) {
                *of_wire = Some((piece, Some((column, second))));
            }
        }
        true
    }

    /// The nearest x where nothing runs up or down.
    fn free_column(&self, x: i32) -> i32 {
        let is_free = |x: &i32| self.taken.iter().all(|other| NEAR <= (x - other).abs());
        let near = (0..).flat_map(|apart: i32| [x + apart, x - apart]);
        near.filter(|x| NEAR <= *x).find(is_free).unwrap_or(x)
    }
}
