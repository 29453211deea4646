//! Texts show what they say: in none of a fact is a character that cannot be seen, or that turns what
//! follows it, whichever field it is in and whichever way the fact came.

use crate::ledger::fact::Fact;
use crate::refusal::Refusal;
use crate::unreadable::repeated;
use crate::unseen::expected_of_text;
use serde::Serialize;
use serde_json::Value;

/// Fields of texts as forms and files name them. Of others it is said that it is a text.
const FIELDS: [&str; 23] = [
    "alike_seen",
    "cause",
    "certificate",
    "conditions",
    "confirmed",
    "done",
    "evidence",
    "instruction",
    "investigation",
    "issuer",
    "looked_for",
    "name",
    "not_done",
    "note",
    "number",
    "reason",
    "remark",
    "source",
    "tell",
    "title",
    "unit",
    "who",
    "words",
];

/// Refuses a fact with such a character in any of its texts. What the register itself finds for a
/// decision is none of its sender's. Linear in the fact.
pub(super) fn check_shown(fact: &Fact) -> Result<(), Refusal> {
    match fact {
        Fact::DecisionTaken(taken) => all_shown(&taken.asked),
        fact => all_shown(fact),
    }
}

fn all_shown(said: &impl Serialize) -> Result<(), Refusal> {
    // Nearly all facts have none: in which field it is, is looked for only where there is one. What
    // cannot be written at all is refused where it would be kept.
    let written = serde_json::to_string(said).unwrap_or_default();
    if expected_of_text(&written).is_none() && !written.contains("\\u00") {
        return Ok(());
    }
    let said = serde_json::to_value(said).unwrap_or_default();
    let Some((field, text, allowed)) = first_hidden(&said, "text") else {
        return Ok(());
    };
    let known = FIELDS.into_iter().find(|known| *known == field);
    Err(Refusal::Impossible {
        field: known.unwrap_or("text"),
        given: format!("“{}”", repeated(text)),
        allowed,
    })
}

/// The first text with such a character: its field, the text, and what is expected instead.
fn first_hidden<'a>(said: &'a Value, field: &'a str) -> Option<(&'a str, &'a str, String)> {
    match said {
        Value::String(text) => Some((field, text.as_str(), expected_of_text(text)?)),
        Value::Array(all) => all.iter().find_map(|one| first_hidden(one, field)),
        Value::Object(fields) => {
            let mut fields = fields.iter();
            fields.find_map(|(name, one)| first_hidden(one, name))
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn checked(title: &str, source: &str) -> Result<(), Refusal> {
        let issued = json!({"modification_issued": {
            "number": "M-1", "title": title, "components": [], "cars": [],
            "by": "2027-01-31", "source": source,
        }});
        all_shown(&issued)
    }

    #[test]
    fn the_field_is_told_and_the_text_without_what_cannot_be_seen() {
        assert_eq!(checked("a choke", "invented\r\nfor a test"), Ok(()));
        assert_eq!(checked(r"no \u0000 by its code", "invented"), Ok(()));
        let refused = checked("a choke", "invented \u{202e}tset a rof").map_err(|why| {
            assert_eq!(why.field(), "source");
            why.to_string()
        });
        let expected = "source: “invented \u{fffd}tset a rof” is not possible; no character that cannot be seen, as U+202E in it";
        assert_eq!(refused, Err(expected.to_owned()));
        let control = checked("a \0 choke", "invented").map_err(|why| why.field());
        assert_eq!(control, Err("title"));
    }
}
