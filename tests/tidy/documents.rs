//! What the documents point at exists.

use super::{assert_none, has_extension, root, written_under};

const DOCUMENTS: [&str; 2] = ["DEVELOPERS.md", "README.md"];
const EXTENSIONS: [&str; 8] = ["rs", "md", "toml", "sql", "html", "css", "csv", "js"];

#[test]
fn every_path_in_a_document_exists() {
    let mut breaks = Vec::new();
    for document in written_under("")
        .iter()
        .filter(|file| DOCUMENTS.contains(&&*file.path))
    {
        for path in paths(&document.text) {
            if !root().join(path).exists() {
                breaks.push(format!("{}: {path}", document.path));
            }
        }
    }
    assert_none("a path in a document exists", &breaks);
}

#[test]
fn paths_are_told_from_other_code() {
    let text = "In `server/domain/`, `tests/run x`, `GET /trains`, `/trains/7`, `a::b`, `text/html`,\n\
                `migrations/0001_ledger.sql`, `server/<name>/x.rs`, `README.md` and `Cargo.lock`.";
    assert_eq!(
        paths(text),
        [
            "server/domain/",
            "tests/run",
            "migrations/0001_ledger.sql",
            "README.md"
        ]
    );
}

/// What is written in backticks and looks like a path of the project: its first folder is one of
/// the project's, or its extension is that of a source file. A command's arguments are left out.
fn paths(text: &str) -> Vec<&str> {
    let in_backticks = text.split('`').skip(1).step_by(2);
    let first_words = in_backticks.filter_map(|code| code.split_whitespace().next());
    let plain = |code: &&str| !code.contains(['<', '>', '{', '*', '…', ':', '=', '(']);
    let of_the_project = |code: &&str| {
        let folder = code.split_once('/').map(|(first, _)| first);
        let known = folder.is_some_and(|first| !first.is_empty() && root().join(first).is_dir());
        known
            || EXTENSIONS
                .iter()
                .any(|extension| has_extension(code, extension))
    };
    let relative = |code: &&str| !code.starts_with('/');
    first_words
        .filter(relative)
        .filter(plain)
        .filter(of_the_project)
        .collect()
}
