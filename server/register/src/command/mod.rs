//! One file a command.

use std::io;
use tempfile::TempDir;

pub(crate) mod account;
pub(crate) mod ask;
pub(crate) mod circuit;
pub(crate) mod decide;
pub(crate) mod demo;
pub(crate) mod due;
pub(crate) mod export;
pub(crate) mod generate;
pub(crate) mod import;
pub(crate) mod rebuild;
pub(crate) mod serve;
mod sign_on;
mod told;
mod told_brakes;
pub(crate) mod verify;

/// A place for a database that is thrown away at the end.
pub(crate) struct Scratch {
    /// Its address.
    pub(crate) address: String,
    _folder: TempDir,
}

impl Scratch {
    pub(crate) fn make() -> io::Result<Self> {
        let folder = tempfile::tempdir()?;
        let file = folder.path().join("scratch.sqlite");
        Ok(Self {
            address: format!("sqlite://{}", file.display()),
            _folder: folder,
        })
    }
}
