//! Rules about the source, checked like everything else. Each looks at files only, so it needs
//! no build and no version control.

mod built;
mod documents;
mod layers;
mod lengths;
mod sources;
mod statements;
mod words;

use std::fs;
use std::path::{Path, PathBuf};

/// Folders of the root whose contents are made and not written.
const MADE: [&str; 3] = [".git", "target", "data"];

/// One written text file.
pub(crate) struct Written {
    /// Path from the root of the project, with `/` between folders.
    path: String,
    pub(crate) text: String,
}

/// The folder that holds the whole project.
fn root() -> &'static Path {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR"));
    tests
        .parent()
        .expect("the tests are in a folder of the project")
}

/// All text files of the project under a folder of it, in the order of their paths.
pub(crate) fn written_under(folder: &str) -> Vec<Written> {
    let mut files = Vec::new();
    collect(&root().join(folder), &mut files);
    files.sort();
    let read = |file: PathBuf| {
        let path = file.strip_prefix(root()).unwrap().to_str()?.to_owned();
        let text = fs::read_to_string(file).ok()?;
        Some(Written { path, text })
    };
    files.into_iter().filter_map(read).collect()
}

/// The Rust files of the program and of the tests.
fn rust_files() -> Vec<Written> {
    let mut files = written_under("server");
    files.extend(written_under("tests"));
    files.retain(|file| has_extension(&file.path, "rs"));
    assert!(files.len() > 10, "the source is not where it is looked for");
    files
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for path in entries.map(|entry| entry.unwrap().path()) {
        let made = MADE.iter().any(|made| path == root().join(made));
        if path.is_dir() && !path.is_symlink() && !made {
            collect(&path, files);
        } else if path.is_file() && !made {
            files.push(path);
        }
    }
}

fn has_extension(path: &str, extension: &str) -> bool {
    Path::new(path)
        .extension()
        .is_some_and(|found| found == extension)
}

/// Fails with one line for each break of a rule.
fn assert_none(rule: &str, breaks: &[String]) {
    assert!(breaks.is_empty(), "{rule}:\n{}", breaks.join("\n"));
}
