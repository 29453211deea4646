//! What is written is also built: a file that no other names is passed over in silence, and with it
//! the tests in it.

use super::{Written, assert_none, rust_files};

/// Files that cargo begins with: by their names, or by a manifest.
const BEGINNINGS: [&str; 4] = ["/main.rs", "/lib.rs", "/build.rs", "tests/support/mod.rs"];

#[test]
fn every_file_is_a_module_of_another() {
    let files = rust_files();
    let lost = files.iter().filter(|file| !is_named(file, &files));
    let lost: Vec<String> = lost.map(|file| file.path.clone()).collect();
    assert_none("a file is named by the module that it belongs to", &lost);
}

fn is_named(file: &Written, files: &[Written]) -> bool {
    if BEGINNINGS.iter().any(|name| file.path.ends_with(name)) {
        return true;
    }
    let (folder, name) = file.path.rsplit_once('/').unwrap_or_default();
    // A module in a folder of its own is named a folder further up.
    let (folder, module) = match name {
        "mod.rs" => folder.rsplit_once('/').unwrap_or_default(),
        name => (folder, name.trim_end_matches(".rs")),
    };
    let beside = ["mod.rs", "main.rs", "lib.rs"].map(|parent| format!("{folder}/{parent}"));
    let above = format!("{folder}.rs");
    let parents = files
        .iter()
        .filter(|other| beside.contains(&other.path) || other.path == above);
    let named = format!("mod {module};");
    let mut lines = parents.flat_map(|parent| parent.text.lines());
    lines.any(|line| line.trim().ends_with(&named))
}
