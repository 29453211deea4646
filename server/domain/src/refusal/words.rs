//! What people call fields of files and forms.

/// What people call a field.
pub(super) fn in_words(field: &str) -> String {
    match field {
        "not_before" => "last seen as it should be",
        "at" => "when",
        "proved_by" => "test record",
        "isolation" => "cut-out",
        field => return field.replace('_', " "),
    }
    .to_owned()
}
