//! A `SQLite` file of its own for one test.

use crate::with_schema;
use tempfile::TempDir;

/// The address of a file in a folder that goes with this value.
#[derive(Debug)]
pub struct SqliteFile {
    url: String,
    _folder: TempDir,
}

impl SqliteFile {
    /// A register in which nothing was ever recorded.
    pub fn fresh() -> Self {
        let file = Self::absent();
        std::fs::write(file.path(), &*with_schema::SQLITE).expect("a new folder can be written to");
        file
    }

    /// No file yet; whoever opens the address makes it.
    pub fn absent() -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder is needed");
        let url = format!(
            "sqlite://{}",
            folder.path().join("register.sqlite").display()
        );
        Self {
            url,
            _folder: folder,
        }
    }

    /// Where the file is.
    pub(crate) fn path(&self) -> &str {
        self.url.trim_start_matches("sqlite://")
    }

    /// Where the register is to be kept: `sqlite:///folder/register.sqlite`.
    pub fn url(&self) -> &str {
        &self.url
    }
}
