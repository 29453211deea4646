//! Every minimal set of cocks that keeps air from a position: air that is fed, or stored air too.
//!
//! Whether air reaches it only shrinks as more cocks are shut. Every set that keeps it off shuts
//! a cock on each way by which air comes; so the search takes one such way, tries each cock on
//! it in turn, and rules out that cock in the tries that follow. In this manner every minimal
//! set is found once. A try in which a cock shut earlier is no longer needed is given up, since
//! no set beyond it is minimal. The search is made for sets of one cock, then of two, and so on,
//! so that where it must stop, all smaller sets are known.

use super::pressure::{Pressure, Reservoirs};

/// The most cocks in a set that is looked for.
pub(super) const COCKS_MAX: usize = 8;
/// The most cocks in one that spares the draining of reservoirs: whoever must close more drains.
const SPARING_MAX: usize = 4;
/// The most sets that are looked for.
pub(super) const SETS_MAX: usize = 300;
/// The most states of cocks that are tried.
const TRIES_MAX: usize = 40_000;
/// The same for sets that spare the draining: some 5 microseconds each in a train of twelve cars.
const SPARING_TRIES_MAX: usize = 8_000;

/// Which air a set keeps off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Against {
    /// What is fed, and what is stored where nothing can drain it. Other reservoirs are drained.
    Supply,
    /// All air, so that no reservoir is to be drained.
    StoredToo,
}

impl Against {
    fn cocks_max(self) -> usize {
        match self {
            Self::Supply => COCKS_MAX,
            Self::StoredToo => SPARING_MAX,
        }
    }

    fn tries_max(self) -> usize {
        match self {
            Self::Supply => TRIES_MAX,
            Self::StoredToo => SPARING_TRIES_MAX,
        }
    }
}

/// The sets that were found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Cuts {
    /// Each set by node, ascending; the smaller sets first.
    pub(super) sets: Vec<Vec<usize>>,
    /// Up to how many cocks in a set all sets are known; none where all are known.
    pub(super) complete_to: Option<usize>,
    /// The same of the sets that need no reservoir drained.
    pub(super) sparing_complete_to: Option<usize>,
}

/// Every minimal set that keeps off what is fed, and where such a set leaves a reservoir to be
/// drained, every minimal one that needs none to be drained, each once.
pub(super) fn all_cuts(pressure: &Pressure) -> Cuts {
    let (mut sets, complete_to) = cuts(pressure, Against::Supply);
    let mut sparing_complete_to = None;
    let drains = |set: &Vec<usize>| pressure.stored_air_reaches(set).is_some();
    if sets.iter().any(drains) {
        let (sparing, complete_to) = cuts(pressure, Against::StoredToo);
        sparing_complete_to = complete_to;
        for set in sparing {
            if !sets.contains(&set) {
                sets.push(set);
            }
        }
    }
    Cuts {
        sets,
        complete_to,
        sparing_complete_to,
    }
}

/// Every minimal set of cocks, the smaller ones first, and where these are not all, up to how many
/// cocks in a set they are. The time is that of the pipes around the position for each try; there
/// are about as many tries as ways times cocks on each.
fn cuts(pressure: &Pressure, against: Against) -> (Vec<Vec<usize>>, Option<usize>) {
    let mut sets: Vec<Vec<usize>> = Vec::new();
    let mut tries = against.tries_max();
    for size in 0..=against.cocks_max() {
        let mut search = Search {
            pressure,
            against,
            size,
            found: Vec::new(),
            tries,
            larger: false,
        };
        let finished = search.go(&mut Vec::new(), &mut Vec::new()).is_some();
        tries = search.tries;
        if !finished || sets.len() + search.found.len() > SETS_MAX {
            return (sets, Some(size.saturating_sub(1)));
        }
        sets.append(&mut search.found);
        if !search.larger {
            return (sets, None);
        }
    }
    (sets, Some(against.cocks_max()))
}

/// What a set of shut cocks does.
#[derive(Debug, PartialEq, Eq)]
enum Air {
    /// Air comes, by a way through these open cocks.
    Comes(Vec<usize>),
    StaysOff,
}

struct Search<'p> {
    pressure: &'p Pressure,
    against: Against,
    /// How many cocks the sets have that are looked for.
    size: usize,
    found: Vec<Vec<usize>>,
    tries: usize,
    /// Whether there may be larger sets.
    larger: bool,
}

impl Search<'_> {
    /// Looks for the sets that shut these cocks and leave those open; none when out of tries.
    fn go(&mut self, shut: &mut Vec<usize>, open: &mut Vec<usize>) -> Option<()> {
        let Air::Comes(way) = self.reaches(shut)? else {
            if shut.len() == self.size {
                let mut set = shut.clone();
                set.sort_unstable();
                self.found.push(set);
            }
            return Some(());
        };
        let way: Vec<usize> = way
            .into_iter()
            .filter(|cock| !open.contains(cock))
            .collect();
        if way.is_empty() {
            return Some(());
        }
        if shut.len() == self.size {
            self.larger = true;
            return Some(());
        }
        let left_open = open.len();
        for cock in way {
            shut.push(cock);
            if self.each_is_needed(shut)? {
                self.go(shut, open)?;
            }
            shut.pop();
            open.push(cock);
        }
        open.truncate(left_open);
        Some(())
    }

    /// Whether air would come again with any one of them open.
    fn each_is_needed(&mut self, shut: &[usize]) -> Option<bool> {
        for at in 0..shut.len() {
            let mut without = shut.to_vec();
            without.remove(at);
            if self.reaches(&without)? == Air::StaysOff {
                return Some(false);
            }
        }
        Some(true)
    }

    fn reaches(&mut self, shut: &[usize]) -> Option<Air> {
        self.tries = self.tries.checked_sub(1)?;
        let fed = self.pressure.reaches(shut, Reservoirs::Undrained);
        let way = fed.or_else(|| match self.against {
            Against::Supply => None,
            Against::StoredToo => self.pressure.stored_air_reaches(shut),
        });
        Some(way.map_or(Air::StaysOff, Air::Comes))
    }
}
