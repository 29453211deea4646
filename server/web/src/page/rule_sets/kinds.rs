//! Every kind of rule with an example: the part of the description of the input format that is
//! about requirements, since a rule is written here as it is brought in.

use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::State;

/// The description of the input format.
const FORMAT: &str = include_str!("../../../../../seed-data/README.md");
/// The heading of the part that is shown, and what every heading of that level begins with.
const HEADING: &str = "\n## Requirements\n";
const NEXT: &str = "\n## ";

#[derive(Template)]
#[template(path = "rule_sets/kinds.html")]
struct KindsPage {
    frame: Frame,
    blocks: Vec<Block>,
}

/// A part of the text.
#[derive(Debug, PartialEq, Eq)]
enum Block {
    /// Words, and whether each run of them is written as it is to be typed.
    Words(Vec<(String, bool)>),
    /// An example.
    Example(String),
}

/// `GET /rule-sets/kinds`
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    page(&KindsPage {
        frame: Frame::new(&state, &signed_in),
        blocks: blocks(section()),
    })
}

fn section() -> &'static str {
    let after = FORMAT.split_once(HEADING).map_or("", |(_, after)| after);
    after.split_once(NEXT).map_or(after, |(section, _)| section)
}

/// Every second part between fences is an example.
fn blocks(text: &str) -> Vec<Block> {
    let parts = text.split("```").enumerate();
    let blocks = parts.flat_map(|(place, part)| {
        if place % 2 == 0 {
            return part.split("\n\n").filter_map(words).collect();
        }
        let example = part.strip_prefix("json").unwrap_or(part);
        vec![Block::Example(example.trim().to_owned())]
    });
    blocks.collect()
}

/// Every second part between back quotes is typed as it stands.
fn words(paragraph: &str) -> Option<Block> {
    let paragraph = paragraph.trim();
    let runs = paragraph.split('`').enumerate();
    let runs = runs.map(|(place, run)| (run.to_owned(), place % 2 == 1));
    (!paragraph.is_empty()).then(|| Block::Words(runs.collect()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use domain::rule_set::requirement::Requirement;

    /// Whatever kind the core knows has its example, and every example is one of them.
    #[test]
    fn every_kind_of_rule_has_an_example_that_can_be_read() {
        let blocks = blocks(section());
        let examples = blocks.iter().filter_map(|block| match block {
            Block::Example(text) => Some(serde_json::from_str::<Requirement>(text)),
            Block::Words(_) => None,
        });
        let kinds: Result<Vec<_>, _> = examples
            .map(|one| one.map(|read| std::mem::discriminant(&read)))
            .collect();
        let kinds: std::collections::HashSet<_> = kinds.expect("readable").into_iter().collect();
        assert_eq!(kinds.len(), 10);
    }

    #[test]
    fn what_is_typed_is_told_from_words() {
        let run = |text: &str, typed: bool| (text.to_owned(), typed);
        let expected = Block::Words(vec![run("the ", false), run("kind", true), run("", false)]);
        assert_eq!(words("the `kind`"), Some(expected));
    }
}
