//! Files and functions stay short enough to be read in one go.

use super::{assert_none, rust_files};

const FILE_MAX_LINES: usize = 400;
const FUNCTION_MAX_LINES: usize = 70;

#[test]
fn no_file_is_too_long() {
    let mut breaks = Vec::new();
    for file in rust_files() {
        let lines = file.text.lines().count();
        if lines > FILE_MAX_LINES {
            breaks.push(format!("{}: {lines} lines", file.path));
        }
    }
    assert_none(
        &format!("a file has at most {FILE_MAX_LINES} lines"),
        &breaks,
    );
}

#[test]
fn no_function_is_too_long() {
    let mut breaks = Vec::new();
    for file in rust_files() {
        for (line, lines) in functions(&file.text) {
            if lines > FUNCTION_MAX_LINES {
                breaks.push(format!("{}:{line}: {lines} lines", file.path));
            }
        }
    }
    assert_none(
        &format!("a function has at most {FUNCTION_MAX_LINES} lines"),
        &breaks,
    );
}

#[test]
fn the_lines_of_a_function_are_counted_from_its_name_to_its_brace() {
    let text = "impl A {\n    pub const fn a(\n    ) {\n        {\n        }\n    }\n}\n\
                fn b() {}\nasync fn c() {\n}\n// fn d() {\n";
    assert_eq!(functions(text), [(2, 5), (8, 1), (9, 2)]);
}

/// Line and length of each function. The text is laid out by the formatter, so a function ends
/// on its first line, or with the first brace that stands as far to the right as that line.
fn functions(text: &str) -> Vec<(usize, usize)> {
    let lines: Vec<&str> = text.lines().collect();
    let begun = |at: &usize| begins_function(lines[*at]);
    let measured = |at: usize| (at + 1, length(&lines[at..]));
    (0..lines.len()).filter(begun).map(measured).collect()
}

fn begins_function(line: &str) -> bool {
    const QUALIFIERS: [&str; 6] = [
        "pub",
        "pub(crate)",
        "pub(super)",
        "const",
        "async",
        "unsafe",
    ];
    let is_qualifier = |word: &str| QUALIFIERS.contains(&word);
    line.split_once("fn ")
        .is_some_and(|(before, _)| before.split_whitespace().all(is_qualifier))
}

fn length(from_name: &[&str]) -> usize {
    let first = from_name[0];
    if first.ends_with(['}', ';']) {
        return 1;
    }
    let indent = first.len() - first.trim_start().len();
    let brace = format!("{}}}", " ".repeat(indent));
    let end = from_name.iter().position(|line| *line == brace);
    end.map_or(1, |after| after + 1)
}
