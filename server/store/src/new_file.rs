//! A SQLite file that is not there yet: it is filled under a name of its own and gets its place
//! once it is whole, so that what fails or is stopped leaves no empty register behind.

use sqlx::sqlite::SqliteConnectOptions;
use std::io;
use std::path::{Path, PathBuf};
use std::str::FromStr;

/// What SQLite keeps beside a file while that is open.
const BESIDE: [&str; 3] = ["", "-wal", "-shm"];

/// A file in the making. Dropped, it goes.
#[derive(Debug)]
pub struct NewFile {
    /// The address under which it is made.
    pub address: String,
    made_as: PathBuf,
    place: PathBuf,
}

impl NewFile {
    /// The file that an address names, where that is one that is not there and can be made.
    pub fn of(address: &str) -> Option<Self> {
        let file = |address: &str| {
            let options = SqliteConnectOptions::from_str(address).ok()?;
            Some(options.get_filename().to_owned())
        };
        let (name, settings) = match address.split_once('?') {
            Some((name, settings)) => (name, format!("?{settings}")),
            None => (address, String::new()),
        };
        if !name.starts_with("sqlite:") || name.ends_with(":memory:") {
            return None;
        }
        let address = format!("{name}.part-{}{settings}", std::process::id());
        let (place, made_as) = (file(name)?, file(&address)?);
        let folder = place.parent().map(|folder| match folder.as_os_str().len() {
            0 => Path::new("."),
            _ => folder,
        });
        let can_be_made = !place.exists() && folder.is_some_and(Path::is_dir);
        can_be_made.then_some(Self {
            address,
            made_as,
            place,
        })
    }

    /// Puts it in its place, once nobody has it open. What stands there meanwhile stays. A log beside
    /// it holds entries that would be lost, so that a file with one is not put.
    pub fn put(self) -> io::Result<()> {
        let log = self.beside("-wal");
        if log.metadata().is_ok_and(|log| log.len() > 0) {
            let why = format!("{} was not emptied into its file", log.display());
            return Err(io::Error::other(why));
        }
        if self.place.exists() {
            let why = format!(
                "{} was made by somebody else meanwhile",
                self.place.display()
            );
            return Err(io::Error::new(io::ErrorKind::AlreadyExists, why));
        }
        std::fs::rename(&self.made_as, &self.place)
    }

    fn beside(&self, ending: &str) -> PathBuf {
        let mut file = self.made_as.clone().into_os_string();
        file.push(ending);
        file.into()
    }
}

impl Drop for NewFile {
    fn drop(&mut self) {
        for ending in BESIDE {
            // It may never have been there.
            let _ = std::fs::remove_file(self.beside(ending));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_with_a_log_beside_it_is_not_put_in_its_place() {
        let place = std::env::temp_dir().join(format!("{}.sqlite", uuid::Uuid::new_v4()));
        for (log, is_put) in [("entries", false), ("", true)] {
            let new = NewFile::of(&format!("sqlite://{}", place.display())).expect("a new file");
            let made_as = new.made_as.clone();
            std::fs::write(&made_as, "a register").expect("written");
            std::fs::write(new.beside("-wal"), log).expect("written");
            assert_eq!(new.put().is_ok(), is_put, "{log}");
            assert_eq!((place.exists(), made_as.exists()), (is_put, false));
        }
        std::fs::remove_file(place).expect("removed");
    }
}
