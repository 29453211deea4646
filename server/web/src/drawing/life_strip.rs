//! A component's life along an axis of time: where it was fitted, gaps between, work done, and
//! what is not known.

use super::WIDTH;
use crate::address;
use crate::show;
use domain::ledger::dossier::{ComponentRecord, DoneRecord, Fitment};
use domain::time::{Day, Instant, Zone};
use domain::units::Meter;

/// A period on the axis.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Bar {
    pub(crate) x: i32,
    pub(crate) width: i32,
    pub(crate) middle: i32,
    /// Stands in the bar where there is room.
    pub(crate) label: String,
    pub(crate) title: String,
    pub(crate) href: String,
}

/// A mark on the axis.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Point {
    pub(crate) x: i32,
    pub(crate) label: String,
}

/// The time before the component came into the register.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Before {
    pub(crate) x: i32,
    pub(crate) width: i32,
    pub(crate) middle: i32,
    /// What it had run by then, or that this is not known.
    pub(crate) words: String,
    /// Whether all of that is known.
    pub(crate) known: bool,
}

/// The strip.
#[derive(Debug)]
pub(crate) struct LifeStrip {
    pub(crate) before: Before,
    pub(crate) fitted: Vec<Bar>,
    pub(crate) gaps: Vec<Bar>,
    pub(crate) done: Vec<Point>,
    pub(crate) years: Vec<Point>,
    pub(crate) received: Point,
    pub(crate) now: Point,
}

const MARGIN: i32 = 16;
/// Room for the time before it came in, which may have no known beginning.
const BEFORE: i32 = 170;
/// The least width at which a bar's label fits, by character.
const CHARACTER: i32 = 7;
const YEARS_MAX: i32 = 14;

/// What is drawn.
pub(crate) struct Life<'a> {
    pub(crate) record: &'a ComponentRecord,
    pub(crate) fitments: &'a [Fitment],
    pub(crate) done: &'a [DoneRecord],
    pub(crate) now: Instant,
    pub(crate) zone: &'a Zone,
}

/// The axis from when the component came in to now.
struct Axis {
    from: i64,
    span: i64,
}

impl Axis {
    fn x(&self, at: Instant) -> i32 {
        let room = i64::from(WIDTH - 2 * MARGIN - BEFORE);
        let passed = (at.microseconds() - self.from).clamp(0, self.span);
        let along = i128::from(room) * i128::from(passed) / i128::from(self.span);
        MARGIN + BEFORE + i32::try_from(along).unwrap_or(0)
    }
}

impl Life<'_> {
    /// Draws it. Linear in the fitments and the work done.
    pub(crate) fn strip(&self) -> LifeStrip {
        let from = self.record.received_at.microseconds();
        let axis = Axis {
            from,
            span: (self.now.microseconds() - from).max(1),
        };
        LifeStrip {
            before: self.before(),
            fitted: self
                .fitments
                .iter()
                .map(|f| self.fitted(f, &axis))
                .collect(),
            gaps: self.gaps(&axis),
            done: self
                .done
                .iter()
                .map(|done| self.work(done, &axis))
                .collect(),
            years: self.years(&axis),
            received: Point {
                x: axis.x(self.record.received_at),
                label: format!("received {}", self.zone.day_of(self.record.received_at)),
            },
            now: Point {
                x: axis.x(self.now),
                label: "now".to_owned(),
            },
        }
    }

    fn before(&self) -> Before {
        let brought = self.record.brought.by_meter();
        let known: Vec<String> = Meter::ALL
            .iter()
            .filter_map(|&meter| Some(show::tenths(brought[meter]?, meter)))
            .collect();
        let made = self.record.manufactured_on;
        let made = made.map_or_else(|| "made: not known".to_owned(), |on| format!("made {on}"));
        let run = if known.is_empty() {
            "run before: not known".to_owned()
        } else {
            format!("run before: {}", known.join(", "))
        };
        Before {
            x: MARGIN,
            width: BEFORE,
            middle: MARGIN + BEFORE / 2,
            words: format!("{made}; {run}"),
            known: !known.is_empty() && self.record.manufactured_on.is_some(),
        }
    }

    fn fitted(&self, fitment: &Fitment, axis: &Axis) -> Bar {
        let until = fitment.end.as_ref().map_or(self.now, |end| end.at);
        let ended = fitment.end.as_ref().map_or_else(
            || "now".to_owned(),
            |end| format!("{} ({})", self.zone.show(end.at), end.why()),
        );
        let title = format!(
            "fitted at {}, {} to {ended}",
            fitment.at,
            self.zone.show(fitment.from)
        );
        let label = format!("{} {}", fitment.at.car, fitment.at.position);
        bar(axis, (fitment.from, until), label, title).leading_to(address::position(&fitment.at))
    }

    /// Off the car: from its receipt or the end of a fitment to the next one, or to now.
    fn gaps(&self, axis: &Axis) -> Vec<Bar> {
        let mut gaps = Vec::new();
        let mut since = Some((
            self.record.received_at,
            "off the car since it came in".to_owned(),
        ));
        for fitment in self.fitments {
            if let Some((from, words)) = since.take().filter(|(from, _)| *from < fitment.from) {
                gaps.push(self.gap(axis, (from, fitment.from), &words));
            }
            since = fitment.end.as_ref().map(|end| {
                let to = end.to.as_ref();
                let to = to.map_or_else(String::new, |to| format!(", removed to {to}"));
                (end.at, format!("off the car{to}"))
            });
        }
        if let Some((from, words)) = since {
            gaps.push(self.gap(axis, (from, self.now), &words));
        }
        gaps
    }

    fn gap(&self, axis: &Axis, (from, until): (Instant, Instant), words: &str) -> Bar {
        let (begun, ended) = (self.zone.show(from), self.zone.show(until));
        let title = format!("{words}, {begun} to {ended}");
        bar(axis, (from, until), "off the car".to_owned(), title)
    }

    fn work(&self, done: &DoneRecord, axis: &Axis) -> Point {
        Point {
            x: axis.x(done.at),
            label: format!("{} done {}", done.task, self.zone.show(done.at)),
        }
    }

    fn years(&self, axis: &Axis) -> Vec<Point> {
        let year = |at: Instant| i32::from(self.zone.day_of(at).date().year());
        let (first, last) = (year(self.record.received_at) + 1, year(self.now));
        let step = usize::try_from((last - first) / YEARS_MAX + 1).unwrap_or(1);
        (first..=last)
            .step_by(step)
            .filter_map(|year| {
                let day: Day = format!("{year}-01-01").parse().ok()?;
                Some(Point {
                    x: axis.x(self.zone.start_of(day)),
                    label: year.to_string(),
                })
            })
            .collect()
    }
}

fn bar(axis: &Axis, (from, until): (Instant, Instant), label: String, title: String) -> Bar {
    let (x, end) = (axis.x(from), axis.x(until));
    let width = (end - x).max(3);
    let room = width / CHARACTER;
    let fits = i32::try_from(label.chars().count()).is_ok_and(|chars| chars < room);
    Bar {
        x,
        width,
        middle: x + width / 2,
        label: if fits { label } else { String::new() },
        title,
        href: String::new(),
    }
}

impl Bar {
    fn leading_to(mut self, href: String) -> Self {
        self.href = href;
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use domain::configuration::component::{ComponentRef, Condition, PositionRef, RemovalReason};
    use domain::ledger::dossier::{FitmentEnd, FitmentId, MeterValues};
    use domain::ledger::entry::Seq;
    use domain::ledger::fact::Brought;

    fn moment(text: &str) -> Instant {
        text.parse().expect("a moment")
    }

    fn record() -> ComponentRecord {
        ComponentRecord {
            id: Seq(1),
            component: ComponentRef {
                part: "P-1".parse().expect("a part"),
                serial: "7".parse().expect("a serial"),
            },
            received_at: moment("2024-01-01T00:00Z"),
            condition: Condition::Serviceable,
            kept: None,
            plates: Vec::new(),
            since: moment("2024-01-01T00:00Z"),
            since_by: Seq(1),
            manufactured_on: None,
            overhauled_on: None,
            brought: Brought::default(),
            since_overhaul: Brought::default(),
            certificate: None,
            modification: None,
            batch: None,
        }
    }

    fn fitment(from: &str, until: Option<&str>) -> Fitment {
        Fitment {
            id: FitmentId(1),
            component: record().component,
            at: PositionRef {
                car: "4101".parse().expect("a car"),
                position: "=B-Q1".parse().expect("a position"),
            },
            from: moment(from),
            fitted_by: Seq(1),
            from_location: None,
            end: until.map(|at| FitmentEnd {
                at: moment(at),
                by: Seq(2),
                reason: Some(RemovalReason::Due),
                to: "store".parse().ok(),
            }),
            meters_from: MeterValues::default(),
            meters_until: MeterValues::default(),
        }
    }

    fn strip(fitments: &[Fitment]) -> LifeStrip {
        let life = Life {
            record: &record(),
            fitments,
            done: &[],
            now: moment("2026-01-01T00:00Z"),
            zone: &Zone::UTC,
        };
        life.strip()
    }

    #[test]
    fn the_time_off_the_car_is_a_gap_and_the_unknown_before_is_said() {
        let strip = strip(&[
            fitment("2024-01-01T00:00Z", Some("2024-07-01T00:00Z")),
            fitment("2025-01-01T00:00Z", None),
        ]);
        assert_eq!(strip.gaps.len(), 1);
        assert!(
            strip.gaps[0]
                .title
                .starts_with("off the car, removed to store")
        );
        assert_eq!(strip.fitted[0].x + strip.fitted[0].width, strip.gaps[0].x);
        assert_eq!(strip.gaps[0].x + strip.gaps[0].width, strip.fitted[1].x);
        assert_eq!(strip.fitted[1].x + strip.fitted[1].width, strip.now.x);
        assert!(!strip.before.known);
        assert_eq!(strip.before.words, "made: not known; run before: not known");
        let years: Vec<&str> = strip.years.iter().map(|year| year.label.as_str()).collect();
        assert_eq!(years, ["2025", "2026"]);
    }

    #[test]
    fn a_component_that_was_never_fitted_is_one_gap() {
        let strip = strip(&[]);
        assert_eq!(strip.gaps.len(), 1);
        assert_eq!(strip.gaps[0].width, strip.now.x - strip.received.x);
    }
}
