//! Words that have no place in what is handed on. They are written here in two parts, so that
//! this file does not break its own rule.

use super::{assert_none, written_under};

/// Whole words, in any case; and marks of unfinished work, in capitals.
const WORDS: [(&str, Case); 6] = [
    (concat!("tran", "script"), Case::Any),
    (concat!("tran", "scripts"), Case::Any),
    (concat!("seed ", "document"), Case::Any),
    (concat!("seed ", "documents"), Case::Any),
    (concat!("TO", "DO"), Case::Exact),
    (concat!("FIX", "ME"), Case::Exact),
];

/// Beginnings of paths that exist on one machine only.
const MACHINE_PATHS: [&str; 2] = [concat!("/wo", "rk/"), concat!("/ro", "ot/")];

#[derive(Clone, Copy)]
enum Case {
    Any,
    Exact,
}

#[test]
fn no_file_has_a_word_that_has_no_place_in_it() {
    let mut breaks = Vec::new();
    for file in written_under("") {
        for (number, line) in file.text.lines().enumerate() {
            for word in out_of_place(line) {
                breaks.push(format!("{}:{}: {word}", file.path, number + 1));
            }
        }
    }
    assert_none("some words have no place in the project", &breaks);
}

#[test]
fn words_are_found_whole_and_paths_at_their_beginning() {
    let [path, _] = MACHINE_PATHS;
    for (line, expected) in [
        (format!("a {} of it", WORDS[0].0.to_uppercase()), 1),
        (format!("{}ion", WORDS[0].0), 0),
        (format!("// {}: later", WORDS[4].0), 1),
        (WORDS[4].0.to_lowercase(), 0),
        (format!("in {path}main"), 1),
        (format!("frame{path}main"), 0),
    ] {
        assert_eq!(out_of_place(&line).len(), expected, "{line}");
    }
}

fn out_of_place(line: &str) -> Vec<&'static str> {
    let lower = line.to_lowercase();
    let words = WORDS.iter().filter(|(word, case)| match case {
        Case::Any => stands_alone(&lower, word),
        Case::Exact => stands_alone(line, word),
    });
    let paths = MACHINE_PATHS.iter().filter(|path| begins(line, path));
    words.map(|(word, _)| *word).chain(paths.copied()).collect()
}

/// Whether a word occurs with no letter or digit before and after it.
fn stands_alone(line: &str, word: &str) -> bool {
    line.match_indices(word).any(|(at, _)| {
        let after = &line[at + word.len()..];
        !line[..at].ends_with(char::is_alphanumeric) && !after.starts_with(char::is_alphanumeric)
    })
}

/// Whether a path begins here, and is not the middle of another.
fn begins(line: &str, path: &str) -> bool {
    let part = |before: char| before.is_alphanumeric() || "._-}".contains(before);
    line.match_indices(path)
        .any(|(at, _)| !line[..at].ends_with(part))
}
