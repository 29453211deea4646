//! Speed over the distance of a stop, method by method, before and after the cut-outs. Each
//! method draws only what it gives: a curve, or a mark where the train stands. Curves are exact:
//! between two points of a course the distance is a parabola over the speed, which is a
//! quadratic Bézier curve.

mod labels;
mod together;

use super::WIDTH;
use domain::braking::stopping_distance::course::{Course, CoursePoint};
use domain::braking::stopping_distance::{Method, Stop};
use domain::decision::{Stopping, StoppingPair, Way};
use domain::units::{Distance, Speed};
use domain::worked::Missing;
pub(crate) use labels::Label;
use labels::{Marked, labels};
use together::together;

/// Height of the drawing.
pub(crate) const HEIGHT: i32 = 430;
const LEFT: f64 = 62.0;
const RIGHT: f64 = 24.0;
const TOP: f64 = 34.0;
const BOTTOM: f64 = 56.0;

/// What is drawn without the cut-outs.
const BEFORE: &str = "nothing cut out";
/// What the cut-outs leave as it is, beside something that they do not.
const EITHER_WAY: &str = "either way";

/// A line of the grid with its words.
#[derive(Debug, PartialEq)]
pub(crate) struct Tick {
    pub(crate) at: String,
    pub(crate) words: String,
}

/// What is drawn of one method, before or after.
#[derive(Debug)]
pub(crate) struct Drawn {
    /// Style of the line: by method, and `before` or `after`.
    pub(crate) class: String,
    /// What it is, for those who point at it.
    pub(crate) title: String,
    /// The curve as a path; none by a method that gives the distance alone.
    pub(crate) path: Option<String>,
    /// Where the train stands, on the axis.
    pub(crate) stand: String,
    /// Words beside the curve.
    pub(crate) label: Label,
}

/// An entry of the legend.
#[derive(Debug)]
pub(crate) struct Key {
    pub(crate) class: &'static str,
    pub(crate) words: String,
    /// Whether it is a mark on the axis and no curve.
    pub(crate) is_mark: bool,
}

/// The diagram.
#[derive(Debug)]
pub(crate) struct SpeedDistance {
    pub(crate) speeds: Vec<Tick>,
    pub(crate) distances: Vec<Tick>,
    /// The signalling distance, where it is known.
    pub(crate) signal: Option<Signal>,
    pub(crate) drawn: Vec<Drawn>,
    pub(crate) keys: Vec<Key>,
    /// Methods of which nothing can be drawn, with the reason.
    pub(crate) without: Vec<String>,
    /// Whether anything changed, so that there are two curves for a method.
    pub(crate) compared: bool,
    /// The methods that give the same before and after, of which there is one curve.
    pub(crate) same: Vec<&'static str>,
    /// What lies so close together that it is one line, group by group.
    pub(crate) together: Vec<String>,
}

/// The signalling distance, as a line with its words on the side where there is room.
#[derive(Debug)]
pub(crate) struct Signal {
    pub(crate) at: String,
    pub(crate) words: String,
    /// How the words stand to the line, in the words of SVG.
    pub(crate) anchor: &'static str,
}

/// From the quantities to the drawing.
struct Axes {
    distance: f64,
    speed: f64,
}

impl Axes {
    fn x(&self, Distance(metres): Distance) -> f64 {
        LEFT + (f64::from(WIDTH) - LEFT - RIGHT) * metres / self.distance
    }

    fn y(&self, Speed(kmh): Speed) -> f64 {
        let room = f64::from(HEIGHT) - TOP - BOTTOM;
        TOP + room * (1.0 - kmh / self.speed)
    }

    fn speed_at(&self, y: f64) -> Speed {
        let room = f64::from(HEIGHT) - TOP - BOTTOM;
        Speed(self.speed * (1.0 - (y - TOP) / room))
    }
}

/// The class, and what a method is called on its curve.
fn named(method: Method) -> (&'static str, &'static str) {
    match method {
        Method::BrakedWeightRelation => ("relation", "relation"),
        Method::ConversionNominal => ("nominal", "nominal"),
        Method::ConversionDefaultValues => ("default-values", "default values"),
        Method::Forces => ("forces", "forces"),
        Method::MeanValue => ("mean-value", "mean value"),
    }
}

/// A method before or after, with its course.
struct Side<'a> {
    method: Method,
    when: &'static str,
    stand: Distance,
    course: Option<Course>,
    of: &'a Stopping,
}

/// Draws the methods. Linear in what their courses have of points. None where the speed is not
/// known or nothing stops.
pub(crate) fn diagram(
    pairs: &[&StoppingPair],
    way: &Way,
    after: &'static str,
) -> Option<SpeedDistance> {
    let speed = way.speed?;
    let compared = pairs.iter().any(|pair| pair.before != pair.after);
    let unchanged = if compared { EITHER_WAY } else { BEFORE };
    let (sides, without) = sides(pairs, way, (after, unchanged));
    let farthest = sides.iter().map(|side| side.stand.0).fold(0.0, f64::max);
    if farthest <= 0.0 {
        return None;
    }
    let signal = way.signalling_distance.filter(|d| d.0 < 4.0 * farthest);
    let distance = 1.04 * signal.map_or(farthest, |signal| signal.0.max(farthest));
    let highest = sides.iter().filter_map(|side| side.course.as_ref());
    let highest = highest
        .map(|course| course.highest().0)
        .fold(speed.0, f64::max);
    let axes = Axes {
        distance,
        speed: 1.02 * highest,
    };
    let marked: Vec<Marked<'_>> = sides
        .iter()
        .map(|side| Marked {
            stand: axes.x(side.stand),
            course: side.course.as_ref(),
            words: side.words(),
        })
        .collect();
    let labels = labels(&axes, &marked);
    let drawn = sides.iter().zip(labels);
    let drawn = drawn.map(|(side, label)| side.drawn(&axes, after, label));
    let drawn = drawn.collect();
    Some(SpeedDistance {
        speeds: ticks(axes.speed, |at| axes.y(Speed(at))),
        distances: ticks(axes.distance, |at| axes.x(Distance(at))),
        signal: signal.map(|signal| Signal {
            at: format!("{:.1}", axes.x(signal)),
            words: format!("signalling distance {signal:.0}"),
            anchor: if distance < 2.0 * signal.0 {
                "end"
            } else {
                "start"
            },
        }),
        drawn,
        keys: keys(&sides),
        without,
        compared,
        same: same(pairs),
        together: together(&axes, &sides),
    })
}

/// What is drawn: of a method before and after, or once where that is the same; and the methods
/// of which nothing can be drawn, with the reason.
fn sides<'a>(
    pairs: &[&'a StoppingPair],
    way: &Way,
    (after, unchanged): (&'static str, &'static str),
) -> (Vec<Side<'a>>, Vec<String>) {
    let (mut sides, mut without) = (Vec::new(), Vec::new());
    for pair in pairs {
        let same = pair.before == pair.after;
        let before = side(pair.method, BEFORE, &pair.before, way);
        sides.extend(before.ok().filter(|_| !same));
        let when = if same { unchanged } else { after };
        match side(pair.method, when, &pair.after, way) {
            Ok(found) => sides.push(found),
            Err(why) => without.push(format!("{}: {why}", pair.method.label())),
        }
    }
    (sides, without)
}

/// The methods that give the same stop before and after.
fn same(pairs: &[&StoppingPair]) -> Vec<&'static str> {
    let stops_the_same = |pair: &&&StoppingPair| {
        let (before, after) = (&pair.before.distance, &pair.after.distance);
        let (Ok(before), Ok(after)) = (before, after) else {
            return false;
        };
        let stops = matches!(after.value.stop, Stop::After(_));
        stops && before.value == after.value
    };
    let same = pairs.iter().filter(stops_the_same);
    same.map(|pair| pair.method.label()).collect()
}

/// One for each method of which something is drawn.
fn keys(sides: &[Side<'_>]) -> Vec<Key> {
    let mut methods: Vec<Method> = sides.iter().map(|side| side.method).collect();
    methods.dedup();
    let key = |method: Method| Key {
        class: named(method).0,
        words: method.label().to_owned(),
        is_mark: method == Method::BrakedWeightRelation,
    };
    methods.into_iter().map(key).collect()
}

fn side<'a>(
    method: Method,
    when: &'static str,
    of: &'a Stopping,
    way: &Way,
) -> Result<Side<'a>, String> {
    let why = |missing: &Missing| {
        let fact = missing.0.first();
        fact.map_or(String::new(), |fact| {
            format!("needs {} ({})", fact.what, fact.of)
        })
    };
    let worked = of.distance.as_ref().map_err(why)?;
    match worked.value.stop {
        Stop::Never => Err(format!("{when}, the train does not stop")),
        Stop::After(stand) => Ok(Side {
            method,
            when,
            stand,
            course: of.course(way),
            of,
        }),
    }
}

impl Side<'_> {
    /// The method and when, for its label.
    fn words(&self) -> String {
        format!("{}, {}", named(self.method).1, self.when)
    }

    fn drawn(&self, axes: &Axes, after: &'static str, label: Label) -> Drawn {
        let (class, _) = named(self.method);
        let weight = if self.when == after {
            "after"
        } else {
            "before"
        };
        let stop = self.of.distance.as_ref().map(|worked| worked.value.stop);
        let stop = stop.map_or(String::new(), |stop| stop.to_string());
        Drawn {
            class: format!("{class} {weight}"),
            title: format!("{}, {}: {stop}", self.method.label(), self.when),
            path: self.course.as_ref().map(|course| path(course, axes)),
            stand: format!("{:.1}", axes.x(self.stand)),
            label,
        }
    }
}

/// The control point of a part lies at the mean speed, and over the distance that the train
/// would reach it at if it went on as it began.
fn path(course: &Course, axes: &Axes) -> String {
    let mut text = String::new();
    let place = |at: Distance, speed: Speed| format!("{:.1} {:.1}", axes.x(at), axes.y(speed));
    if let Some(first) = course.points().first() {
        text.push('M');
        text.push_str(&place(first.at, first.speed));
    }
    for part in course.points().windows(2) {
        if let [from, to] = part {
            let (at, speed) = control(from, to);
            let curve = [" Q", &place(at, speed), " ", &place(to.at, to.speed)];
            text.push_str(&curve.concat());
        }
    }
    text
}

fn control(from: &CoursePoint, to: &CoursePoint) -> (Distance, Speed) {
    let (v0, v1) = (from.speed.0, to.speed.0);
    let sum = v0 + v1;
    let share = if sum > 0.0 { v0 / sum } else { 0.5 };
    let at = from.at.0 + share * (to.at.0 - from.at.0);
    (Distance(at), Speed(sum / 2.0))
}

/// Round values along an axis, at most twelve.
fn ticks(most: f64, place: impl Fn(f64) -> f64) -> Vec<Tick> {
    let steps = [1.0, 2.0, 5.0].into_iter().cycle();
    let decades = (0..18).map(|n| 10_f64.powi(n / 3));
    let mut rounds = decades.zip(steps).map(|(decade, step)| decade * step);
    let step = rounds.find(|step| most / step <= 12.0).unwrap_or(most);
    let count = (0..=12).map(f64::from).take_while(|n| n * step <= most);
    count
        .map(|n| Tick {
            at: format!("{:.1}", place(n * step)),
            words: format!("{:.0}", n * step),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(at: f64, speed: f64) -> CoursePoint {
        CoursePoint {
            at: Distance(at),
            speed: Speed(speed),
        }
    }

    #[test]
    fn the_control_point_makes_the_curve_the_parabola_of_even_braking() {
        // 90 km/h over 312.5 m: half way in speed, three quarters of the distance are run.
        let (from, to) = (point(0.0, 90.0), point(312.5, 0.0));
        let (Distance(at), Speed(speed)) = control(&from, &to);
        let middle = |a: f64, b: f64, c: f64| a / 4.0 + b / 2.0 + c / 4.0;
        assert!((middle(0.0, at, 312.5) - 0.75 * 312.5).abs() < 1e-9);
        assert!((middle(90.0, speed, 0.0) - 45.0).abs() < 1e-9);
    }

    #[test]
    fn an_axis_has_a_handful_of_round_values() {
        let words = |most| -> Vec<String> {
            let found = ticks(most, |at| at).into_iter();
            found.map(|tick| tick.words).collect()
        };
        assert_eq!(words(163.2).last().map(String::as_str), Some("160"));
        assert_eq!(words(163.2).len(), 9);
        assert_eq!(words(2500.0)[1], "500");
        assert_eq!(words(0.9), ["0"]);
    }
}
