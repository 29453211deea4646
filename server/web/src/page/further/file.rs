//! Weak points as a file for a spreadsheet: how many pairs there are and how many of them are here,
//! every single failure, then the pairs.

use super::posed::Posed;
use super::weak_points::{FailureWords, weak_points};
use crate::as_at::Speaks;
use crate::failure::Failure;
use crate::respond::PageResult;
use axum::http::header;
use axum::response::IntoResponse;
use domain::decision::TrainCar;
use domain::isolation::weak_points::{
    Fails, Failure as Weakness, PAIRS_MAX, Pairs, WeakPair, WeakPoint, WeakPoints,
};
use domain::units::Kilograms;
use domain::unreadable::Unreadable;
use exchange::output::{Cell, write_csv, write_xlsx};
use std::collections::HashSet;
use std::io::Cursor;

const HEADER: [&str; 14] = [
    "failures",
    "car",
    "position",
    "what it is",
    "state",
    "second car",
    "second position",
    "what it is",
    "state",
    "braked weight lost at once in kg",
    "braked weight lost later in kg",
    "of that beyond each by itself in kg",
    "other functions lost",
    "all places of the pipe that leaks",
];

/// A kind of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Csv,
    Xlsx,
}

/// Answers with the file. Without an answer there is none.
pub(super) async fn send(kind: Kind, (title, speaks): (&str, &Speaks), posed: Posed) -> PageResult {
    let cars = posed.asking.cars.clone();
    let found = weak_points(posed).await?.map_err(|missing| {
        let expected = format!("a train whose facts are known: {missing}");
        Failure::Unreadable(Unreadable::new("question", title, expected))
    })?;
    let rows = rows(&cars, &found, &of_then(title, speaks));
    let (bytes, extension, media_type) = match kind {
        Kind::Csv => {
            let mut bytes = Vec::new();
            write_csv(&mut bytes, &HEADER, rows)?;
            (bytes, "csv", "text/csv; charset=utf-8")
        }
        Kind::Xlsx => {
            let mut file = Cursor::new(Vec::new());
            write_xlsx(&mut file, "weak points", &HEADER, rows)?;
            let media_type = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
            (file.into_inner(), "xlsx", media_type)
        }
    };
    let part = InFile::of(&found).name_of_part();
    let then = name_of_times(speaks);
    let name = format!("attachment; filename=\"weak-points{then}{part}.{extension}\"");
    let headers = [
        (header::CONTENT_TYPE, media_type.to_owned()),
        (header::CONTENT_DISPOSITION, name),
    ];
    Ok((headers, bytes).into_response())
}

/// Of which past time a file tells, before all else that it says; nothing of now.
fn of_then(title: &str, speaks: &Speaks) -> String {
    let Some(past) = &speaks.past else {
        return String::new();
    };
    let known = past.known.as_ref();
    let known = known.map_or(String::new(), |known| format!(", as known at {known}"));
    format!("{title}{known}: worked out anew, and nothing was decided by it. ")
}

/// What the name of a file says of the past time that it tells of, without the colons that not every
/// system has in names.
fn name_of_times(speaks: &Speaks) -> String {
    let Some(past) = &speaks.past else {
        return String::new();
    };
    let known = past.known.as_ref().map(|_| speaks.times.known);
    let known = known.map_or(String::new(), |known| format!("-known-{known}"));
    format!("-as-at-{}{known}", speaks.times.effective).replace(':', "")
}

/// Which pairs a file holds: those that take braked weight, the worst first, and at most so many.
pub(super) struct InFile<'a> {
    pairs: &'a Pairs,
    /// Those that take the most beyond each by itself and are not among the worst.
    hidden: Vec<&'a WeakPair>,
}

impl<'a> InFile<'a> {
    pub(super) fn of(found: &'a WeakPoints) -> Self {
        let pairs = &found.pairs;
        let worst: HashSet<(usize, usize)> =
            pairs.worst.iter().map(|one| (one.one, one.other)).collect();
        let hidden = pairs.hidden.iter();
        let hidden = hidden.filter(|one| !worst.contains(&(one.one, one.other)));
        Self {
            pairs,
            hidden: hidden.collect(),
        }
    }

    fn all(&self) -> impl Iterator<Item = &'a WeakPair> {
        self.pairs.worst.iter().chain(self.hidden.iter().copied())
    }

    fn count(&self) -> usize {
        self.pairs.worst.len() + self.hidden.len()
    }

    fn is_cut(&self) -> bool {
        self.count() < self.pairs.that_take
    }

    /// How many there are, and whether all that take something are in the file.
    pub(super) fn in_words(&self) -> String {
        let Pairs {
            evaluated,
            that_take,
            that_take_beyond_each,
            ..
        } = self.pairs;
        if *evaluated == 0 {
            return "No pairs were evaluated.".to_owned();
        }
        let begins = format!("Of {evaluated} pairs {that_take} take braked weight");
        if !self.is_cut() {
            return format!("{begins}: all of these are in the file.");
        }
        format!(
            "THE LIST GOES ON. {begins}: only {} of them are in the file, the {PAIRS_MAX} worst and, \
             of {that_take_beyond_each} that take more than each by itself, the {PAIRS_MAX} with the \
             most beyond. {}",
            self.count(),
            self.bounds()
        )
    }

    /// What those that are not in the file take at most: why it needs no more of them.
    fn bounds(&self) -> String {
        let Pairs { worst, hidden, .. } = self.pairs;
        let later = worst.last().map_or(Kilograms(0), |pair| pair.later);
        let beyond = if hidden.len() < self.pairs.that_take_beyond_each {
            let most = hidden.last().map_or(Kilograms(0), |pair| pair.beyond_each);
            format!("more than its two failures by themselves by at most {most}")
        } else {
            "no more than its two single failures together, which are in the file".to_owned()
        };
        format!(
            "Each of the others takes at most {later} once stored air is used up, and {beyond}."
        )
    }

    /// What the name of the file says where it is cut.
    fn name_of_part(&self) -> String {
        if self.is_cut() {
            format!("-{}-of-{}-pairs", self.count(), self.pairs.that_take)
        } else {
            String::new()
        }
    }
}

fn rows(cars: &[TrainCar], found: &WeakPoints, of_then: &str) -> Vec<Vec<Cell>> {
    let in_file = InFile::of(found);
    let mut first = vec![Cell::Empty; HEADER.len()];
    first[3] = Cell::Text(format!("{of_then}{}", in_file.in_words()));
    let mut rows = vec![first];
    rows.extend(found.singles.iter().map(|one| single(cars, one)));
    let pairs = in_file.all();
    rows.extend(pairs.filter_map(|one| pair(cars, &found.singles, one)));
    rows
}

fn single(cars: &[TrainCar], one: &WeakPoint) -> Vec<Cell> {
    let mut cells = vec![Cell::Number(1.0)];
    cells.extend(failure(&FailureWords::of(cars, &one.failure)));
    cells.extend(std::iter::repeat_n(Cell::Empty, 4));
    cells.extend([
        weight(one.losses.at_once),
        weight(one.losses.later),
        Cell::Empty,
    ]);
    cells.push(Cell::Text(super::words::functions(&one.losses).join("; ")));
    cells.push(places(&one.failure));
    cells
}

fn pair(cars: &[TrainCar], singles: &[WeakPoint], pair: &WeakPair) -> Option<Vec<Cell>> {
    let mut cells = vec![Cell::Number(2.0)];
    for at in [pair.one, pair.other] {
        cells.extend(failure(&FailureWords::of(cars, &singles.get(at)?.failure)));
    }
    cells.extend([pair.at_once, pair.later, pair.beyond_each].map(weight));
    cells.extend([Cell::Empty, Cell::Empty]);
    Some(cells)
}

fn failure(words: &FailureWords) -> [Cell; 4] {
    let state = match words.pipe {
        None => words.state.clone(),
        Some(pipe) => format!("{pipe} {}{}", words.state, words.elsewhere),
    };
    let texts = [&words.car, &words.code, &words.title, &state];
    texts.map(|text| Cell::Text(text.clone()))
}

/// Every hose and drain cock of a pipe that leaks.
fn places(failure: &Weakness) -> Cell {
    let Fails::Leaks { likewise, .. } = &failure.how else {
        return Cell::Empty;
    };
    let first = format!("{} {}", failure.car_number, failure.position);
    let others = likewise.iter();
    let others = others.map(|spot| format!("{} {}", spot.car_number, spot.position));
    let all: Vec<String> = std::iter::once(first).chain(others).collect();
    Cell::Text(all.join("; "))
}

fn weight(kilograms: Kilograms) -> Cell {
    Cell::Number(kilograms.0 as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pair(other: usize, later: i64, beyond_each: i64) -> WeakPair {
        WeakPair {
            one: 0,
            other,
            at_once: Kilograms(0),
            later: Kilograms(later),
            beyond_each: Kilograms(beyond_each),
        }
    }

    /// Of so many that take more than each by itself, with two pairs in the file of three that take
    /// something.
    fn said(that_take_beyond_each: usize) -> String {
        let pairs = Pairs {
            evaluated: 10,
            that_take: 3,
            that_take_beyond_each,
            worst: vec![pair(1, 5_000, 0)],
            hidden: vec![pair(2, 3_000, 2_000)],
            ..Pairs::default()
        };
        let found = WeakPoints {
            pairs,
            ..WeakPoints::default()
        };
        InFile::of(&found).in_words()
    }

    #[test]
    fn a_file_that_is_cut_says_what_the_others_take_at_most() {
        let all_hidden = said(1);
        let most = format!("Each of the others takes at most {}", Kilograms(5_000));
        assert!(all_hidden.contains(&most), "{all_hidden}");
        let singly = "no more than its two single failures together";
        assert!(all_hidden.contains(singly), "{all_hidden}");
        let not_all = said(2);
        let beyond = format!("by themselves by at most {}", Kilograms(2_000));
        assert!(not_all.contains(&beyond), "{not_all}");
    }
}
