//! Effectivity: from which day a revision of a car type is the baseline of which cars.
//! ISO 10007:2017 asks for the configuration that holds for an item at a time to be told from
//! its records; here it follows from what two people agreed on, for any day.

use crate::identity::{CarNumber, CarTypeName, Revision};
use crate::ledger::entry::Seq;
use crate::time::Day;
use crate::unreadable::Unreadable;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// The most ranges of one effectivity.
pub const RANGES_MAX: usize = 50;

/// Cars from one number to another, both included. A car is in it if its number is as long as
/// theirs and stands between them letter by letter, so that 410 is not between 4101 and 4120.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Ends", into = "Ends")]
pub struct CarRange {
    first: CarNumber,
    last: CarNumber,
}

/// The shape in the ledger.
#[derive(Serialize, Deserialize)]
struct Ends {
    first: CarNumber,
    last: CarNumber,
}

impl CarRange {
    /// From a first to a last car, which may be the same.
    pub fn new(first: CarNumber, last: CarNumber) -> Result<Self, Unreadable> {
        let length = |number: &CarNumber| number.as_str().chars().count();
        if length(&first) == length(&last) && first <= last {
            return Ok(Self { first, last });
        }
        let given = format!("{first} to {last}");
        let expected = "two numbers of the same length, the lower one first";
        Err(Unreadable::new("range of cars", &given, expected))
    }

    /// Its first and last car.
    pub fn ends(&self) -> (&CarNumber, &CarNumber) {
        (&self.first, &self.last)
    }

    /// The ranges of a list, as people write one: on one line or several, with commas, semicolons or
    /// blanks between them.
    pub fn list(text: &str) -> Result<Vec<Self>, Unreadable> {
        let separators = [',', ';'];
        let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
        let pieces = lines.flat_map(|line| line.trim_end_matches(separators).split(separators));
        let ranges = pieces.flat_map(apart).map(|range| range.parse());
        ranges.collect()
    }

    /// The only car of it, if it is of one.
    pub fn only(&self) -> Option<&CarNumber> {
        (self.first == self.last).then_some(&self.first)
    }

    /// Whether a car is in it.
    pub fn holds(&self, car: &CarNumber) -> bool {
        let length = |number: &CarNumber| number.as_str().chars().count();
        length(car) == length(&self.first) && self.first <= *car && *car <= self.last
    }
}

/// The ranges of a piece that has blanks in it. Between numbers of one length that have a digit each
/// they separate; else they belong to a number, as in those of twelve digits.
fn apart(piece: &str) -> Vec<String> {
    let words: Vec<&str> = piece.split_whitespace().collect();
    let numbers = || words.iter().filter(|word| **word != "to");
    let length = |word: &&str| word.chars().count();
    let first = numbers().next().map_or(0, length);
    let separate = numbers().all(|word| length(word) == first && word.contains(char::is_numeric));
    // Of nothing between two commas nobody knows which number is missing.
    if words.is_empty() || !separate {
        return vec![piece.trim().to_owned()];
    }
    let mut ranges: Vec<String> = Vec::new();
    for word in words {
        match ranges.last_mut() {
            Some(first) if word == "to" => first.push_str(" to "),
            Some(range) if range.ends_with(' ') => range.push_str(word),
            _ => ranges.push(word.to_owned()),
        }
    }
    ranges
}

impl TryFrom<Ends> for CarRange {
    type Error = Unreadable;
    fn try_from(Ends { first, last }: Ends) -> Result<Self, Unreadable> {
        Self::new(first, last)
    }
}

impl From<CarRange> for Ends {
    fn from(CarRange { first, last }: CarRange) -> Self {
        Self { first, last }
    }
}

impl fmt::Display for CarRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.first == self.last {
            return self.first.fmt(f);
        }
        write!(f, "{} to {}", self.first, self.last)
    }
}

impl FromStr for CarRange {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        // With an end that is missing it is no number either.
        let padded = format!(" {text} ");
        let (first, last) = padded.split_once(" to ").unwrap_or((text, text));
        Self::new(first.trim().parse()?, last.trim().parse()?)
    }
}

/// Cars and ranges of cars, at least one and at most [`RANGES_MAX`]: `4101 to 4120, 4131`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Vec<CarRange>", into = "Vec<CarRange>")]
pub struct CarRanges(Vec<CarRange>);

impl CarRanges {
    /// The ranges.
    pub fn ranges(&self) -> &[CarRange] {
        &self.0
    }

    /// Whether a car is in one of them.
    pub fn hold(&self, car: &CarNumber) -> bool {
        self.0.iter().any(|range| range.holds(car))
    }
}

impl TryFrom<Vec<CarRange>> for CarRanges {
    type Error = Unreadable;
    fn try_from(ranges: Vec<CarRange>) -> Result<Self, Unreadable> {
        if (1..=RANGES_MAX).contains(&ranges.len()) {
            return Ok(Self(ranges));
        }
        let expected = format!("1 to {RANGES_MAX} cars or ranges of cars");
        let given = format!("{} of them", ranges.len());
        Err(Unreadable::new("cars", &given, expected))
    }
}

impl From<CarRanges> for Vec<CarRange> {
    fn from(ranges: CarRanges) -> Self {
        ranges.0
    }
}

impl FromStr for CarRanges {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let expected = "cars and ranges of cars, as 4101 to 4120, 4131";
        let ranges = CarRange::list(text).map_err(|_| Unreadable::new("cars", text, expected))?;
        ranges.try_into()
    }
}

impl fmt::Display for CarRanges {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (place, range) in self.0.iter().enumerate() {
            f.write_str(if place == 0 { "" } else { ", " })?;
            range.fmt(f)?;
        }
        Ok(())
    }
}

/// A revision of a car type is the baseline of some cars from a day on, until another one is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Effectivity {
    /// The car type.
    pub car_type: CarTypeName,
    /// Its revision.
    pub revision: Revision,
    /// The cars, whether or not they are in the register yet.
    pub cars: CarRanges,
    /// From the beginning of this day.
    pub from: Day,
}

/// A stretch of days in which one revision is in force for a car.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RevisionPeriod<'a> {
    /// Its first day; none where it is in force from the beginning.
    pub from: Option<Day>,
    /// The first day after it; none where it goes on.
    pub until: Option<Day>,
    /// The revision.
    pub revision: &'a Revision,
}

impl RevisionPeriod<'_> {
    /// Whether a day lies in it.
    pub fn holds(&self, on: Day) -> bool {
        self.from.is_none_or(|from| from <= on) && self.until.is_none_or(|until| on < until)
    }
}

/// The revision that is in force for a car on a day, by what was said of cars of its type: that
/// of the statement on this car which begins last by then, and of two that begin on one day, of
/// the one recorded later; before all of them, the one the car is registered with. Linear in the
/// statements.
pub fn in_force<'a>(
    said: &'a [(Seq, Effectivity)],
    (car, registered): (&CarNumber, &'a Revision),
    on: Day,
) -> &'a Revision {
    let of_car = said.iter().filter(|(_, one)| one.cars.hold(car));
    let begun = of_car.filter(|(_, one)| one.from <= on);
    let last = begun.max_by_key(|(by, one)| (one.from, *by));
    last.map_or(registered, |(_, one)| &one.revision)
}

/// The revisions of a car one after another, from the beginning to the end of time.
pub fn periods<'a>(
    said: &'a [(Seq, Effectivity)],
    (car, registered): (&CarNumber, &'a Revision),
) -> Vec<RevisionPeriod<'a>> {
    let of_car = said.iter().filter(|(_, one)| one.cars.hold(car));
    let mut begins: Vec<Day> = of_car.map(|(_, one)| one.from).collect();
    begins.sort_unstable();
    begins.dedup();
    let mut periods = vec![RevisionPeriod {
        from: None,
        until: None,
        revision: registered,
    }];
    for from in begins {
        let revision = in_force(said, (car, registered), from);
        if let Some(last) = periods.last_mut().filter(|last| last.revision != revision) {
            last.until = Some(from);
            periods.push(RevisionPeriod {
                from: Some(from),
                until: None,
                revision,
            });
        }
    }
    periods
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn said(by: i64, revision: &str, cars: &str, from: &str) -> (Seq, Effectivity) {
        let effectivity = Effectivity {
            car_type: "Motor car".parse().expect("a car type"),
            revision: revision.parse().expect("a revision"),
            cars: cars.parse().expect("cars"),
            from: from.parse().expect("a day"),
        };
        (Seq(by), effectivity)
    }

    fn on(said: &[(Seq, Effectivity)], car: &str, day: &str) -> String {
        let car = car.parse().expect("a car");
        let registered = "A".parse().expect("a revision");
        let day = day.parse().expect("a day");
        in_force(said, (&car, &registered), day).to_string()
    }

    #[test]
    fn a_revision_is_in_force_for_its_cars_from_its_day() {
        let said = [
            said(10, "B", "4101 to 4110, 4131", "2027-03-01"),
            said(11, "C", "4105", "2028-01-01"),
        ];
        assert_eq!(on(&said, "4105", "2027-02-28"), "A");
        assert_eq!(on(&said, "4105", "2027-03-01"), "B");
        assert_eq!(on(&said, "4105", "2028-01-01"), "C");
        assert_eq!(on(&said, "4131", "2028-01-01"), "B");
        assert_eq!(on(&said, "4111", "2028-01-01"), "A");
        assert_eq!(on(&said, "410", "2028-01-01"), "A");
    }

    #[test]
    fn the_later_entry_puts_an_earlier_one_of_the_same_day_right() {
        let said = [
            said(10, "B", "4101 to 4110", "2027-03-01"),
            said(12, "A", "4104", "2027-03-01"),
        ];
        assert_eq!(on(&said, "4104", "2027-06-01"), "A");
        assert_eq!(on(&said, "4103", "2027-06-01"), "B");
    }

    #[test]
    fn ranges_are_of_numbers_of_one_length_in_their_order() {
        let wrong = [
            "",
            "4101 to 410",
            "4110 to 4101",
            "4101,,4102",
            "41/1",
            "4101 to",
        ];
        for wrong in wrong
            .into_iter()
            .chain(["to 4101", "4101 to to 4102", ",4101"])
        {
            assert!(wrong.parse::<CarRanges>().is_err(), "{wrong}");
        }
        let text = "4101 to 4110, 4131";
        assert_eq!(text.parse::<CarRanges>().expect("cars").to_string(), text);
    }

    #[test]
    fn a_list_of_cars_is_read_however_it_is_separated() {
        for text in [
            "4101, 4102, 4110 to 4112",
            "4101;4102;4110 to 4112",
            "4101 4102 4110 to 4112",
            " 4101  4102;\n4110 to 4112,\n",
        ] {
            let read: CarRanges = text.parse().expect(text);
            assert_eq!(read.to_string(), "4101, 4102, 4110 to 4112", "{text}");
        }
        for text in ["21 81 2471 217-3", "Reserve 1", "Reserve 1 to Reserve 4"] {
            let read: CarRanges = text.parse().expect(text);
            assert_eq!(read.to_string(), text, "a blank is part of it");
        }
        let several = "21 81 2471 217-3\n21 81 2471 218-1";
        assert_eq!(CarRange::list(several).expect("a list").len(), 2);
    }

    prop_compose! {
        fn statement()(by in 1_i64..100, revision in 0_u8..4, first in 0_u32..20, more in 0_u32..20, from in 0_i32..60) -> (Seq, Effectivity) {
            let cars = format!("{} to {}", 4100 + first, 4100 + first + more);
            let day = Day::from_number(20_000 + from).expect("a day").to_string();
            said(by, &format!("R{revision}"), &cars, &day)
        }
    }

    proptest! {
        /// Every day has exactly one period, which names the revision in force on it, and
        /// neighbours differ; a statement of other cars changes nothing.
        #[test]
        fn periods_tell_for_each_day_what_is_in_force(statements in prop::collection::vec(statement(), 0..8), car in 4100_u32..4140, day in 0_i32..60) {
            let car: CarNumber = car.to_string().parse().expect("a car");
            let registered: Revision = "A".parse().expect("a revision");
            let on = Day::from_number(20_000 + day).expect("a day");
            let periods = periods(&statements, (&car, &registered));
            let holding: Vec<_> = periods.iter().filter(|period| period.holds(on)).collect();
            prop_assert_eq!(holding.len(), 1);
            let now = in_force(&statements, (&car, &registered), on);
            prop_assert_eq!(holding[0].revision, now);
            for pair in periods.windows(2) {
                prop_assert_eq!(pair[0].until, pair[1].from);
                prop_assert_ne!(pair[0].revision, pair[1].revision);
            }
            let own: Vec<_> = statements.iter().filter(|(_, one)| one.cars.hold(&car)).cloned().collect();
            prop_assert_eq!(in_force(&own, (&car, &registered), on), now);
        }
    }
}
