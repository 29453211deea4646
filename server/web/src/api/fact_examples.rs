//! An example of every kind of fact, beside the description of how one is recorded.

use serde_json::{Map, Value, json};
use std::sync::LazyLock;
use utoipa::openapi::example::ExampleBuilder;
use utoipa::openapi::{OpenApi, RefOr};

/// The examples, by the name of the kind. Invented, as the railway they speak of.
static EXAMPLES: LazyLock<Map<String, Value>> =
    LazyLock::new(|| serde_json::from_str(include_str!("facts.json")).unwrap_or_default());

/// Adds to the paths that take a fact one body a kind.
pub(super) fn complete(mut described: OpenApi) -> OpenApi {
    for path in ["/api/v1/entries", "/api/v1/entries/foreseen"] {
        let taken = described.paths.paths.get_mut(path);
        let body = taken.and_then(|path| path.post.as_mut()?.request_body.as_mut());
        let Some(RefOr::T(body)) = body else { continue };
        let Some(RefOr::T(content)) = body.content.get_mut("application/json") else {
            continue;
        };
        let examples = EXAMPLES.iter().map(|(kind, fact)| {
            let example = ExampleBuilder::new()
                .summary(kind.replace('_', " "))
                .value(Some(sent(fact)));
            (kind.clone(), RefOr::T(example.build()))
        });
        content.examples.extend(examples);
    }
    described
}

/// What is sent to record a fact.
fn sent(fact: &Value) -> Value {
    json!({
        "id": "0c5f4d5e-6f5c-4c0e-9d57-6f0a2f6e2b11",
        "effective_at": "2027-01-15T09:30:00+01:00",
        "fact": fact,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::api::unread::unread_field;
    use domain::json;
    use domain::ledger::fact::Fact;
    use domain::ledger::kind::FactKind;
    use std::collections::BTreeSet;

    #[test]
    fn every_kind_of_fact_has_an_example_that_can_be_read() {
        let (mut shown, mut wrong) = (BTreeSet::new(), Vec::new());
        for (kind, example) in EXAMPLES.iter() {
            match json::fit::<Fact>(example) {
                Ok(fact) if fact.kind().name() == kind => {
                    let by_library: Fact = serde_json::from_value(example.clone()).unwrap();
                    assert_eq!(fact, by_library);
                    let read = serde_json::to_value(&fact).unwrap();
                    wrong.extend(unread_field(example, &read));
                    shown.insert(fact.kind());
                }
                other => wrong.push(format!("{kind}: {other:?}")),
            }
        }
        assert!(wrong.is_empty(), "{wrong:#?}");
        let missing: Vec<_> = FactKind::ALL
            .iter()
            .filter(|kind| !shown.contains(kind))
            .collect();
        assert!(missing.is_empty(), "{missing:?}");
    }
}
