//! A published check says where it was published.

use super::{assert_none, has_extension, written_under};

#[test]
fn every_published_check_names_its_source() {
    let mut files = written_under("tests/published");
    files.retain(|file| has_extension(&file.path, "rs") && !file.path.ends_with("/mod.rs"));
    assert!(
        !files.is_empty(),
        "the published checks are not where they are looked for"
    );
    let breaks: Vec<_> = files
        .iter()
        .filter(|file| !header(&file.text).contains("source"))
        .map(|file| file.path.clone())
        .collect();
    assert_none(
        "the header of a published check has the word “source”",
        &breaks,
    );
}

/// The paragraph about the file as a whole, in small letters.
fn header(text: &str) -> String {
    let lines = text.lines().take_while(|line| line.starts_with("//!"));
    lines.collect::<String>().to_lowercase()
}
