//! A SQLite file that is not there yet: it is filled under a name of its own and gets its place
//! once it is whole, so that what fails or is stopped leaves no empty register behind.

use sqlx::sqlite::SqliteConnectOptions;
use std::fs::File;
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
        let can_be_made = !place.exists() && folder_of(&place).is_dir();
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
        match std::fs::hard_link(&self.made_as, &self.place) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                let place = self.place.display();
                let why = format!("{place} was made by somebody else meanwhile");
                return Err(io::Error::new(error.kind(), why));
            }
            // Not every file system has a second name for a file.
            Err(_) => std::fs::rename(&self.made_as, &self.place)?,
            Ok(()) => {}
        }
        // The name is to outlast a power cut as what it names does. Not every system opens folders.
        File::open(folder_of(&self.place)).map_or(Ok(()), |folder| folder.sync_all())
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

fn folder_of(file: &Path) -> &Path {
    let folder = file.parent();
    let named = folder.filter(|folder| !folder.as_os_str().is_empty());
    named.unwrap_or(Path::new("."))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_came_meanwhile_stays_as_it_is() {
        let place = std::env::temp_dir().join(format!("{}.sqlite", uuid::Uuid::new_v4()));
        let new = NewFile::of(&format!("sqlite://{}", place.display())).expect("a new file");
        let made_as = new.made_as.clone();
        std::fs::write(&made_as, "one register").expect("written");
        std::fs::write(&place, "another").expect("written");
        let refused = new.put().expect_err("there is one");
        assert!(refused.to_string().contains("meanwhile"), "{refused}");
        let stays = std::fs::read_to_string(&place).expect("readable");
        assert_eq!((stays.as_str(), made_as.exists()), ("another", false));
        std::fs::remove_file(place).expect("removed");
    }

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
