//! Fields that were sent and that nothing reads: a slip in the name of a field must not be taken
//! for silence about it.

use serde_json::Value;

/// The first field of what was sent that is not in what was read from it, as a path of names.
/// What says nothing, such as null or an empty list, may be left out. Linear in what was sent,
/// but for lists of objects, which may have been put in order.
pub(super) fn unread_field(sent: &Value, read: &Value) -> Option<String> {
    match (sent, read) {
        (Value::Object(sent), Value::Object(read)) => {
            sent.iter().find_map(|(name, sent)| match read.get(name) {
                None if says_nothing(sent) => None,
                None => Some(name.clone()),
                Some(read) => unread_field(sent, read).map(|path| format!("{name}.{path}")),
            })
        }
        (Value::Array(sent), Value::Array(read)) => sent.iter().find_map(|sent| {
            let mut found = None;
            for read in read {
                found = Some(unread_field(sent, read)?);
            }
            found
        }),
        _ => None,
    }
}

fn says_nothing(value: &Value) -> bool {
    match value {
        Value::Null => true,
        Value::Bool(yes) => !yes,
        Value::Number(number) => number.as_f64() == Some(0.0),
        Value::String(text) => text.is_empty(),
        Value::Array(values) => values.is_empty(),
        Value::Object(fields) => fields.is_empty(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_field_that_nothing_reads_is_found_wherever_it_is() {
        let read = json!({"moved": {"to": {"car": "4101"}, "cars": [{"car": "1"}, {"car": "2"}]}});
        let with = |sent: Value| unread_field(&json!({"moved": sent}), &read);
        assert_eq!(with(json!({"to": {"car": "4101"}})), None);
        assert_eq!(with(json!({"cars": [{"car": "2"}, {"car": "1"}]})), None);
        assert_eq!(with(json!({"concession": null, "told": [], "n": 0})), None);
        let slip = with(json!({"concesion": "C-1"}));
        assert_eq!(slip.as_deref(), Some("moved.concesion"));
        let deep = with(json!({"to": {"car": "4101", "plce": 1}}));
        assert_eq!(deep.as_deref(), Some("moved.to.plce"));
        let listed = with(json!({"cars": [{"car": "1"}, {"car": "2", "end": "x"}]}));
        assert_eq!(listed.as_deref(), Some("moved.cars.end"));
    }
}
