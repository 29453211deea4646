//! Figures and the table that they stand in.

use std::fmt;
use std::time::Duration;

/// How long something took, many times.
pub(crate) struct Times(Vec<Duration>);

impl Times {
    /// None yet.
    pub(crate) const fn new() -> Self {
        Self(Vec::new())
    }

    /// Adds one.
    pub(crate) fn add(&mut self, took: Duration) {
        self.0.push(took);
    }

    /// The time that a share of all do not exceed, in milliseconds.
    pub(crate) fn milliseconds_at(&self, percent: usize) -> f64 {
        let mut sorted = self.0.clone();
        sorted.sort();
        let place = (sorted.len() * percent).div_ceil(100).max(1) - 1;
        sorted[place].as_secs_f64() * 1e3
    }
}

/// Median and 99th percentile.
impl fmt::Display for Times {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (median, most) = (self.milliseconds_at(50), self.milliseconds_at(99));
        write!(f, "{median:.2} / {most:.2}")
    }
}

/// Figures by what was measured and where.
#[derive(Default)]
pub(crate) struct Table {
    columns: Vec<String>,
    rows: Vec<Row>,
}

struct Row {
    what: &'static str,
    target: &'static str,
    /// One for each column so far, empty where it was not measured.
    figures: Vec<String>,
}

impl Table {
    /// Begins a column.
    pub(crate) fn column(&mut self, name: String) {
        self.columns.push(name);
    }

    /// Puts a figure into the last column, beside its target.
    pub(crate) fn put(&mut self, what: &'static str, target: &'static str, figure: String) {
        eprintln!("    {what}: {figure}");
        let columns = self.columns.len();
        let place = self.rows.iter().position(|row| row.what == what);
        let place = place.unwrap_or_else(|| {
            let figures = Vec::new();
            self.rows.push(Row {
                what,
                target,
                figures,
            });
            self.rows.len() - 1
        });
        let figures = &mut self.rows[place].figures;
        figures.resize(columns - 1, String::new());
        figures.push(figure);
    }
}

impl fmt::Display for Table {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "| measured | target | {} |", self.columns.join(" | "))?;
        writeln!(f, "| --- | --- |{}", " ---: |".repeat(self.columns.len()))?;
        for Row {
            what,
            target,
            figures,
        } in &self.rows
        {
            let mut figures = figures.clone();
            figures.resize(self.columns.len(), String::new());
            writeln!(f, "| {what} | {target} | {} |", figures.join(" | "))?;
        }
        Ok(())
    }
}
