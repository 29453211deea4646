//! A fresh `SQLite` file for one test.

use tempfile::TempDir;

/// The address of a file that does not exist yet, in a folder that goes with this value.
#[derive(Debug)]
pub struct SqliteFile {
    url: String,
    _folder: TempDir,
}

impl SqliteFile {
    /// A new folder of its own; whoever opens the address makes the file.
    pub fn fresh() -> Self {
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

    /// Where the register is to be kept: `sqlite:///folder/register.sqlite`.
    pub fn url(&self) -> &str {
        &self.url
    }
}
