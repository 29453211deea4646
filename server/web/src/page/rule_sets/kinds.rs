//! Every field of a rule set, and every kind of rule with an example: the parts of the description of
//! the input format that are about them, since a rule is written here as it is brought in.

use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::State;

/// The description of the input format.
const FORMAT: &str = include_str!("../../../../../seed-data/README.md");
/// The headings of the parts that are shown, and what every heading of that level begins with.
const FIELDS: &str = "\n## Rule sets\n";
const REQUIREMENTS: &str = "\n## Requirements\n";
const NEXT: &str = "\n## ";

#[derive(Template)]
#[template(path = "rule_sets/kinds.html")]
struct KindsPage {
    frame: Frame,
    fields: Vec<Block>,
    requirements: Vec<Block>,
}

/// Text, and whether each run of it is written as it is to be typed.
type Runs = Vec<(String, bool)>;

/// A part of the text.
#[derive(Debug, PartialEq, Eq)]
enum Block {
    /// Words.
    Words(Runs),
    /// Rows of a table, the first with its headings.
    Table(Vec<Vec<Runs>>),
    /// An example.
    Example(String),
}

/// `GET /rule-sets/kinds`
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    page(&KindsPage {
        frame: Frame::new(&state, &signed_in),
        fields: blocks(section(FIELDS)),
        requirements: blocks(section(REQUIREMENTS)),
    })
}

fn section(heading: &str) -> &'static str {
    let after = FORMAT.split_once(heading).map_or("", |(_, after)| after);
    after.split_once(NEXT).map_or(after, |(section, _)| section)
}

/// Every second part between fences is an example.
fn blocks(text: &str) -> Vec<Block> {
    let parts = text.split("```").enumerate();
    let blocks = parts.flat_map(|(place, part)| {
        if place % 2 == 0 {
            return part.split("\n\n").filter_map(paragraph).collect();
        }
        let example = part.strip_prefix("json").unwrap_or(part);
        vec![Block::Example(example.trim().to_owned())]
    });
    blocks.collect()
}

/// A table, where its lines are rows of one.
fn paragraph(text: &str) -> Option<Block> {
    let text = text.trim();
    if !text.starts_with('|') {
        return (!text.is_empty()).then(|| Block::Words(runs(text)));
    }
    let rows = text.lines().filter(|line| !line.starts_with("| ---"));
    let cells = |line: &str| {
        let cells = line.trim_matches('|').split(" | ");
        cells.map(|cell| runs(cell.trim())).collect()
    };
    Some(Block::Table(rows.map(cells).collect()))
}

/// Every second part between back quotes is typed as it stands.
fn runs(text: &str) -> Runs {
    let runs = text.split('`').enumerate();
    runs.map(|(place, run)| (run.to_owned(), place % 2 == 1))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use domain::rule_set::requirement::Requirement;
    use serde_json::Value;

    /// Whatever kind the core knows has its example, and every example is one of them.
    #[test]
    fn every_kind_of_rule_has_an_example_that_can_be_read() {
        let blocks = blocks(section(REQUIREMENTS));
        let examples = blocks.iter().filter_map(|block| match block {
            Block::Example(text) => Some(serde_json::from_str::<Requirement>(text)),
            Block::Words(_) | Block::Table(_) => None,
        });
        let kinds: Result<Vec<_>, _> = examples
            .map(|one| one.map(|read| std::mem::discriminant(&read)))
            .collect();
        let kinds: std::collections::HashSet<_> = kinds.expect("readable").into_iter().collect();
        assert_eq!(kinds.len(), 10);
    }

    /// The names of the fields of an object and of those inside, each after those that it is in.
    fn fields_of(value: &Value, within: &str) -> Vec<String> {
        let Value::Object(object) = value else {
            let items = value.as_array().into_iter().flatten();
            return items.flat_map(|one| fields_of(one, within)).collect();
        };
        let fields = object.iter().flat_map(|(name, inner)| {
            let name = format!("{within}{name}");
            // What is in these is told elsewhere: once of the set, or of requirements.
            let leaf =
                name.ends_with("source") || name == "rules.scope" || name.ends_with("requirement");
            let inside = if leaf {
                Vec::new()
            } else {
                fields_of(inner, &format!("{name}."))
            };
            std::iter::once(name).chain(inside).collect::<Vec<_>>()
        });
        fields.collect()
    }

    /// The example has every field that the core knows, and the table has those and no other.
    #[test]
    fn every_field_of_a_rule_set_is_described_and_in_the_example() {
        let blocks = blocks(section(FIELDS));
        let example = blocks.iter().find_map(|block| match block {
            Block::Example(text) => Some(serde_json::from_str::<Value>(text)),
            Block::Words(_) | Block::Table(_) => None,
        });
        let mut example = example.expect("an example").expect("JSON");
        let mut used = fields_of(&example, "");
        let rows = blocks.iter().find_map(|block| match block {
            Block::Table(rows) => Some(rows),
            Block::Words(_) | Block::Example(_) => None,
        });
        let rows = rows.expect("a table").iter().skip(1);
        let mut told: Vec<String> = rows.map(|row| row[0][1].0.clone()).collect();
        told.sort();
        // Its two fields are told, each by itself.
        used.retain(|name| name != "usual.holding_adhesion");
        used.sort();
        used.dedup();
        assert_eq!(told, used);
        for (name, value) in [
            ("name", "Example"),
            ("revision", "A"),
            ("issuer", "the railway"),
            ("note", "An example."),
            ("valid_from", "2026-11-25"),
        ] {
            example[name] = value.into();
        }
        let read: domain::rule_set::RuleSet = serde_json::from_value(example).expect("a rule set");
        let written = serde_json::to_value(&read).expect("JSON");
        let whole = |of: &str| written[of].as_object().map(serde_json::Map::len);
        assert_eq!((whole("scope"), whole("usual")), (Some(3), Some(7)));
        let only_if = written["rules"][0]["only_if"].as_object();
        assert_eq!(only_if.map(serde_json::Map::len), Some(5));
    }

    #[test]
    fn what_is_typed_is_told_from_words() {
        let run = |text: &str, typed: bool| (text.to_owned(), typed);
        let expected = Block::Words(vec![run("the ", false), run("kind", true), run("", false)]);
        assert_eq!(paragraph("the `kind`"), Some(expected));
    }
}
