//! Where a register is kept while it is measured.

use crate::process::Place;
use std::path::PathBuf;
use std::process::Command;

/// One of the two databases, empty at first.
pub(crate) struct Database {
    /// What it is called in the table.
    pub(crate) name: &'static str,
    /// The register's address.
    pub(crate) url: String,
    kept: Kept,
}

enum Kept {
    File(PathBuf),
    /// In a cluster with this socket folder, under this name.
    Cluster(String, String),
}

impl Database {
    /// One of each kind for a number of cars.
    pub(crate) fn both(place: &Place, cars: &str) -> [Self; 2] {
        let file = place.folder.join(format!("{cars}.sqlite"));
        let (cluster, name) = (place.cluster.clone(), format!("cars_{cars}"));
        [
            Self {
                name: "SQLite",
                url: format!("sqlite://{}", file.display()),
                kept: Kept::File(file),
            },
            Self {
                name: "PostgreSQL",
                url: format!("postgres:///{name}?host={cluster}&user=register"),
                kept: Kept::Cluster(cluster, name),
            },
        ]
    }

    /// The file of SQLite.
    pub(crate) fn file(&self) -> Option<PathBuf> {
        match &self.kept {
            Kept::File(file) => Some(file.clone()),
            Kept::Cluster(..) => None,
        }
    }

    /// Makes it; a file is made by whoever opens it.
    pub(crate) fn make(&self) {
        if let Kept::Cluster(cluster, name) = &self.kept {
            psql(cluster, "postgres", &format!("create database {name}"));
        }
    }

    /// What PostgreSQL's own daemon does within minutes of an import.
    pub(crate) fn settle(&self) {
        if let Kept::Cluster(cluster, name) = &self.kept {
            psql(cluster, name, "vacuum (analyze)");
        }
    }

    /// Frees what it took.
    pub(crate) fn drop(&self) {
        match &self.kept {
            Kept::File(file) => {
                for end in ["", "-wal", "-shm"] {
                    let mut file = file.clone().into_os_string();
                    file.push(end);
                    let _ = std::fs::remove_file(file);
                }
            }
            Kept::Cluster(cluster, name) => {
                psql(cluster, "postgres", &format!("drop database {name}"));
            }
        }
    }
}

fn psql(cluster: &str, database: &str, statement: &str) {
    let address = format!("postgres:///{database}?host={cluster}&user=register");
    let done = Command::new("psql")
        .args(["--quiet", "--dbname", &address, "--command", statement])
        .status()
        .unwrap();
    assert!(done.success(), "{statement}");
}
