//! The projections as tables of plain values: emptied for a rebuild, and compared row by row.

mod doings;
mod things;

/// What a column holds.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Holds {
    Text,
    Whole,
    Small,
    Day,
    Moment,
}

/// A projection: its name, its key and its columns.
pub(crate) struct Projection {
    pub(crate) name: &'static str,
    pub(crate) key: &'static str,
    pub(crate) columns: &'static [(&'static str, Holds)],
}

/// All projections; each only refers to those before it.
pub(crate) fn all() -> impl DoubleEndedIterator<Item = &'static Projection> {
    things::PROJECTIONS.iter().chain(doings::PROJECTIONS)
}
