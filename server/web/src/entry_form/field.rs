//! Questions of forms.

/// One question of a form.
#[derive(Debug)]
pub(crate) struct Field {
    pub(crate) name: &'static str,
    pub(crate) label: &'static str,
    pub(crate) hint: String,
    pub(crate) kind: FieldKind,
    pub(crate) required: bool,
    /// Whether its answer says why the entry is recorded.
    pub(crate) says_why: bool,
    pub(crate) value: String,
    pub(crate) error: Option<String>,
}

/// How a question is answered.
#[derive(Debug)]
pub(crate) enum FieldKind {
    /// Typed or scanned, with suggestions.
    Text(Vec<String>),
    /// A number.
    Number,
    /// A text of many lines.
    LongText,
    /// One of some values, each with its words.
    OneOf(Vec<(String, String)>),
}

impl Field {
    fn new(name: &'static str, label: &'static str, kind: FieldKind) -> Self {
        Self {
            name,
            label,
            hint: String::new(),
            kind,
            required: false,
            says_why: false,
            value: String::new(),
            error: None,
        }
    }

    /// A text.
    pub(crate) fn text(name: &'static str, label: &'static str) -> Self {
        Self::new(name, label, FieldKind::Text(Vec::new()))
    }

    /// A text of many lines.
    pub(crate) fn long_text(name: &'static str, label: &'static str) -> Self {
        Self::new(name, label, FieldKind::LongText)
    }

    /// A number.
    pub(crate) fn number(name: &'static str, label: &'static str) -> Self {
        Self::new(name, label, FieldKind::Number)
    }

    /// One of some values, each with its words; the first is chosen.
    pub(crate) fn one_of(
        name: &'static str,
        label: &'static str,
        values: impl IntoIterator<Item = (String, String)>,
    ) -> Self {
        let values: Vec<_> = values.into_iter().collect();
        let value = values.first().map_or_else(String::new, |v| v.0.clone());
        Self::new(name, label, FieldKind::OneOf(values)).with_value(value)
    }

    /// What helps to answer.
    pub(crate) fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }

    /// It must be answered.
    pub(crate) fn required(mut self) -> Self {
        self.required = true;
        self
    }

    /// Its answer, which the fact keeps, says why the entry is recorded: it must be given, and no
    /// reason is asked for besides.
    pub(crate) fn says_why(mut self) -> Self {
        self.says_why = true;
        self.required()
    }

    /// Answers to choose from, without ruling out others.
    pub(crate) fn suggest(mut self, values: impl IntoIterator<Item = String>) -> Self {
        self.kind = FieldKind::Text(values.into_iter().collect());
        self
    }

    /// What stands there at first.
    pub(crate) fn with_value(mut self, value: impl Into<String>) -> Self {
        self.value = value.into();
        self
    }

    /// The suggestions of a text field.
    pub(crate) fn suggestions(&self) -> &[String] {
        match &self.kind {
            FieldKind::Text(values) => values,
            FieldKind::Number | FieldKind::LongText | FieldKind::OneOf(_) => &[],
        }
    }

    /// The values of a choice.
    pub(crate) fn values(&self) -> Option<&[(String, String)]> {
        match &self.kind {
            FieldKind::OneOf(values) => Some(values),
            FieldKind::Text(_) | FieldKind::Number | FieldKind::LongText => None,
        }
    }

    /// Whether a text of many lines is asked.
    pub(crate) fn is_long(&self) -> bool {
        matches!(self.kind, FieldKind::LongText)
    }

    /// Whether a number is asked.
    pub(crate) fn is_number(&self) -> bool {
        matches!(self.kind, FieldKind::Number)
    }
}
