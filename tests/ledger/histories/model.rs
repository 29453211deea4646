//! The simple model: the entries that stand, in the order in which they were recorded, those that
//! correct others in the place of these, and lists
//! of intervals that are worked out from all of them whenever they are wanted. It knows nothing
//! of tables and nothing of undoing.

use super::inside::{self, OnCar};
use domain::configuration::component::Condition;
use std::collections::BTreeMap;

/// Hours since the fleet was founded.
pub(super) type Hour = i64;
/// Places in the lists of components, positions and cars.
pub(super) type Place = usize;

/// What an entry says.
#[derive(Debug, Clone)]
pub(super) enum Said {
    Fitted {
        component: Place,
        position: Place,
    },
    FittedUntil {
        component: Place,
        position: Place,
        until: Hour,
        condition: Condition,
    },
    Removed {
        component: Place,
        condition: Condition,
    },
    Moved {
        component: Place,
        position: Place,
    },
    Swapped {
        first: Place,
        second: Place,
    },
    Relocated {
        component: Place,
    },
    Judged {
        component: Place,
        condition: Condition,
    },
    Read {
        car: Place,
        shown: i64,
    },
    Replaced {
        car: Place,
        last: i64,
        first: i64,
    },
    Done {
        component: Place,
    },
    MovedToDepot {
        car: Place,
        depot: usize,
    },
}

/// An entry that stands. One that corrects another has its place in the order.
#[derive(Debug, Clone)]
pub(super) struct Stands {
    pub(super) entry: i64,
    pub(super) at: Hour,
    pub(super) said: Said,
}

/// A component at a position from an hour on, and to which hour.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Interval {
    pub(super) component: Place,
    pub(super) position: Place,
    pub(super) from: Hour,
    pub(super) until: Option<Hour>,
}

impl Interval {
    pub(super) fn shares_an_hour(&self, from: Hour, until: Option<Hour>) -> bool {
        until.is_none_or(|until| self.from < until) && self.until.is_none_or(|end| from < end)
    }
}

/// What comes first of what is said of one moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    CameOff,
    Judged,
}

/// Which positions are approved for a component.
pub(super) type Approved = fn(Place, Place) -> bool;

#[derive(Debug)]
pub(super) struct Model {
    pub(super) stands: Vec<Stands>,
    pub(super) now: Hour,
    pub(super) approved: Approved,
}

use Condition::{Quarantined, Serviceable};

impl Model {
    pub(super) fn new(approved: Approved, stands: Vec<Stands>) -> Self {
        Self {
            stands,
            now: 0,
            approved,
        }
    }

    /// What was where, and when.
    pub(super) fn intervals(&self) -> Vec<Interval> {
        let mut intervals: Vec<Interval> = Vec::new();
        for Stands { at, said, .. } in &self.stands {
            match *said {
                Said::Fitted {
                    component,
                    position,
                } => begin(&mut intervals, component, position, *at),
                Said::FittedUntil {
                    component,
                    position,
                    until,
                    ..
                } => intervals.push(Interval {
                    component,
                    position,
                    from: *at,
                    until: Some(until),
                }),
                Said::Removed { component, .. } => drop(end(&mut intervals, component, *at)),
                Said::Moved {
                    component,
                    position,
                } => {
                    end(&mut intervals, component, *at);
                    begin(&mut intervals, component, position, *at);
                }
                Said::Swapped { first, second } => {
                    let one = end(&mut intervals, first, *at);
                    let other = end(&mut intervals, second, *at);
                    if let (Some(one), Some(other)) = (one, other) {
                        begin(&mut intervals, first, other, *at);
                        begin(&mut intervals, second, one, *at);
                    }
                }
                _ => {}
            }
        }
        intervals
    }

    fn of(&self, component: Place) -> Vec<Interval> {
        let mut intervals = self.intervals();
        intervals.retain(|interval| interval.component == component);
        intervals
    }

    /// The open interval of a component, if it began before an hour.
    fn open(&self, component: Place, before: Hour) -> Option<Interval> {
        let open = self
            .of(component)
            .into_iter()
            .find(|interval| interval.until.is_none());
        open.filter(|interval| interval.from < before)
    }

    /// From when a component is in which condition, in order. At one moment what comes off is
    /// judged after it came off.
    fn conditions(&self, component: Place) -> Vec<(Hour, Rank, i64, Condition)> {
        let mut conditions = vec![(0, Rank::CameOff, 0, Serviceable)];
        for Stands { entry, at, said } in &self.stands {
            match *said {
                Said::Removed {
                    component: of,
                    condition,
                } if of == component => conditions.push((*at, Rank::CameOff, *entry, condition)),
                Said::Judged {
                    component: of,
                    condition,
                } if of == component => conditions.push((*at, Rank::Judged, *entry, condition)),
                Said::FittedUntil {
                    component: of,
                    until,
                    condition,
                    ..
                } if of == component => conditions.push((until, Rank::CameOff, *entry, condition)),
                _ => {}
            }
        }
        conditions.sort_by_key(|(since, rank, entry, _)| (*since, *rank, *entry));
        conditions
    }

    pub(super) fn condition(&self, component: Place) -> Condition {
        self.condition_at(component, Hour::MAX)
    }

    fn condition_at(&self, component: Place, at: Hour) -> Condition {
        let mut conditions = self.conditions(component).into_iter();
        let last = conditions.rfind(|(since, ..)| *since <= at);
        last.map_or(Serviceable, |(.., condition)| condition)
    }

    /// The last hour at which a component was put anywhere.
    fn put_last(&self, component: Place) -> Hour {
        let intervals = self.of(component).into_iter();
        let put = intervals.map(|interval| interval.until.unwrap_or(interval.from));
        let relocated = self.stands.iter().filter_map(|stands| match stands.said {
            Said::Relocated { component: of } if of == component => Some(stands.at),
            _ => None,
        });
        put.chain(relocated).max().unwrap_or(0)
    }

    /// Whether what stands is possible: a component is in one place, a position holds one
    /// component, and whatever was put anywhere was serviceable then, with all that was inside it.
    pub(super) fn is_possible(&self) -> bool {
        let intervals = self.intervals();
        let meets = |(place, one): (usize, &Interval)| {
            intervals[place + 1..].iter().any(|other| {
                let same = one.component == other.component || one.position == other.position;
                same && one.shares_an_hour(other.from, other.until)
            })
        };
        let unfit = |interval: &Interval| {
            let mut put = inside::contents(&intervals, interval.component, interval.from);
            put.push(interval.component);
            let serviceable = |one: &Place| self.condition_at(*one, interval.from) == Serviceable;
            !put.iter().all(serviceable)
        };
        !intervals.iter().enumerate().any(meets) && !intervals.iter().any(unfit)
    }

    /// Whether what stands is possible with something more.
    fn is_possible_with(&self, at: Hour, said: &Said) -> bool {
        let mut stands = self.stands.clone();
        stands.push(Stands {
            entry: i64::MAX,
            at,
            said: said.clone(),
        });
        Self::new(self.approved, stands).is_possible()
    }

    /// Whether what comes off is no better than it was.
    fn no_better(&self, component: Place, at: Hour, after: Condition) -> bool {
        let before = self.condition_at(component, at - 1);
        let better = before != Serviceable && after == Serviceable
            || before == Quarantined && after != Quarantined;
        !better
    }

    /// Whether all was serviceable that a component leaves from inside at an hour.
    fn leaves_sound(&self, from: Place, to: Option<Place>, at: Hour) -> bool {
        let intervals = self.intervals();
        let stays = to.map_or_else(Vec::new, |to| inside::above(&intervals, to, at));
        let left = inside::above(&intervals, from, at).into_iter();
        let mut left = left.filter(|host| !stays.contains(host));
        left.all(|host| self.condition_at(host, at) == Serviceable)
    }

    /// Whether something may be said; none where the model does not know.
    pub(super) fn allows(&self, at: Hour, said: &Said) -> Option<bool> {
        if self.now < at {
            return Some(false);
        }
        let allowed = match *said {
            Said::Fitted {
                component,
                position,
            } => (self.approved)(component, position) && self.put_last(component) <= at,
            Said::FittedUntil {
                component,
                position,
                until,
                condition,
            } => {
                0 <= at
                    && until <= self.now
                    && (self.approved)(component, position)
                    && self.no_better(component, until, condition)
                    && (condition != Serviceable || self.leaves_sound(position, None, until))
            }
            Said::Removed {
                component,
                condition,
            } => self.open(component, at).is_some_and(|open| {
                self.no_better(component, at, condition)
                    && (condition != Serviceable || self.leaves_sound(open.position, None, at))
            }),
            Said::Moved {
                component,
                position,
            } => self.open(component, at).is_some_and(|open| {
                open.position != position
                    && (self.approved)(component, position)
                    && self.leaves_sound(open.position, Some(position), at)
            }),
            Said::Swapped { first, second } => {
                let places = self.open(first, at).zip(self.open(second, at));
                let allowed = places.is_some_and(|(one, other)| {
                    (self.approved)(first, other.position)
                        && (self.approved)(second, one.position)
                        && self.leaves_sound(one.position, Some(other.position), at)
                        && self.leaves_sound(other.position, Some(one.position), at)
                });
                first != second && allowed
            }
            Said::Relocated { component } => {
                self.open(component, Hour::MAX).is_none() && self.put_last(component) <= at
            }
            Said::Judged { .. } => 0 <= at,
            _ => return None,
        };
        Some(allowed && self.is_possible_with(at, said))
    }

    /// What a car's odometer showed, by hour: the value read and, at a replacement, the first
    /// value of the new one.
    pub(super) fn shown(&self, car: Place) -> BTreeMap<Hour, (i64, i64)> {
        let values = self.stands.iter().filter_map(|stands| match stands.said {
            Said::Read { car: of, shown } if of == car => Some((stands.at, (shown, shown))),
            Said::Replaced {
                car: of,
                last,
                first,
            } if of == car => Some((stands.at, (last, first))),
            _ => None,
        });
        values.collect()
    }

    /// What a car had run by its odometer, by hour.
    pub(super) fn run(&self, car: Place) -> BTreeMap<Hour, i64> {
        let (mut run, mut before) = (0, 0);
        let mut points = BTreeMap::new();
        for (hour, (shown, first)) in self.shown(car) {
            run += shown - before;
            before = first;
            points.insert(hour, run);
        }
        points
    }

    /// The entries of work done, each with the car that the component was on and the hour.
    pub(super) fn done(&self) -> Vec<(i64, Option<Place>, Hour)> {
        let on_cars = inside::on_cars(&self.intervals());
        let done = self.stands.iter().filter_map(|stands| match stands.said {
            Said::Done { component } => Some((stands.entry, component, stands.at)),
            _ => None,
        });
        let placed = |(entry, component, at)| {
            let holds = |place: &&OnCar| {
                let then = place.from <= at && place.until.is_none_or(|until| at <= until);
                place.component == component && then
            };
            let first = on_cars.iter().filter(holds).min_by_key(|place| place.from);
            (entry, first.map(|place| place.car), at)
        };
        done.map(placed).collect()
    }
}

fn begin(intervals: &mut Vec<Interval>, component: Place, position: Place, from: Hour) {
    intervals.push(Interval {
        component,
        position,
        from,
        until: None,
    });
}

/// Ends the open interval of a component and says where it was.
fn end(intervals: &mut [Interval], component: Place, at: Hour) -> Option<Place> {
    let open = intervals
        .iter_mut()
        .find(|interval| interval.component == component && interval.until.is_none())?;
    open.until = Some(at);
    Some(open.position)
}
