//! Every file of SQL in the store is named by the code that uses it.

use std::collections::BTreeSet;
use std::path::{Component, Path};

use super::{assert_none, has_extension, written_under};

#[test]
fn every_file_of_sql_is_used() {
    let files = written_under("server/store");
    let mut named = BTreeSet::new();
    for code in files.iter().filter(|file| has_extension(&file.path, "rs")) {
        named.extend(sql_named(&code.path, &code.text));
    }
    let breaks: Vec<_> = files
        .iter()
        .filter(|file| has_extension(&file.path, "sql") && !named.contains(&file.path))
        .map(|file| file.path.clone())
        .collect();
    assert_none("a file of SQL is used", &breaks);
}

#[test]
fn a_file_of_sql_is_named_from_the_folder_of_the_code() {
    let code =
        r#"const A: &str = include_str!("append.sql"); sql!("../read/all.sql"); let b = "x.sq";"#;
    let named = sql_named("server/store/src/ledger/append.rs", code);
    assert_eq!(
        named,
        [
            "server/store/src/ledger/append.sql",
            "server/store/src/read/all.sql"
        ]
    );
}

/// Paths, from the root of the project, of the files of SQL that a file of code names.
fn sql_named(path: &str, code: &str) -> Vec<String> {
    let folder = Path::new(path).parent().unwrap_or(Path::new(""));
    code.split('"')
        .filter(|literal| has_extension(literal, "sql"))
        .map(|literal| straight(&folder.join(literal)))
        .collect()
}

/// The path without steps back.
fn straight(path: &Path) -> String {
    let mut steps: Vec<&str> = Vec::new();
    for step in path.components() {
        match step {
            Component::ParentDir => drop(steps.pop()),
            Component::Normal(name) => steps.extend(name.to_str()),
            _ => {}
        }
    }
    steps.join("/")
}
