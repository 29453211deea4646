//! Forms that record an entry: described once, shown empty or again with what was typed, and
//! recorded.

use crate::address;
use crate::consequences::Consequences;
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted, new_command};
use crate::state::WebState;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::refusal::Refusal;
use domain::time::Instant;
use std::sync::Arc;
use store::{Foresight, Recorded, StoreError};

/// A form that records one entry.
#[derive(Debug)]
pub(crate) struct EntryForm {
    /// Its name on the page, by which errors lead back to it.
    pub(crate) id: &'static str,
    /// Where it is sent.
    pub(crate) action: String,
    /// What it does.
    pub(crate) title: String,
    /// The same on its button.
    pub(crate) button: &'static str,
    /// What it brings along unseen.
    pub(crate) hidden: Vec<(&'static str, String)>,
    /// What is asked.
    pub(crate) fields: Vec<Field>,
    /// The identity of its command.
    pub(crate) command: String,
    /// Why it was refused, if it was.
    pub(crate) refusal: Option<ShownRefusal>,
    /// What it changes, to be agreed to.
    pub(crate) consequences: Option<Arc<Consequences>>,
    /// Whether it was sent and not recorded.
    pub(crate) again: bool,
    /// Whether it is shown unfolded.
    pub(crate) open: bool,
}

/// One question of a form.
#[derive(Debug)]
pub(crate) struct Field {
    pub(crate) name: &'static str,
    pub(crate) label: &'static str,
    pub(crate) hint: String,
    pub(crate) kind: FieldKind,
    pub(crate) required: bool,
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

/// Why the register refused.
#[derive(Debug)]
pub(crate) struct ShownRefusal {
    pub(crate) text: String,
    /// The entry that stands against it: its address and name.
    pub(crate) entry: Option<(String, String)>,
}

/// A form that was sent and not recorded.
#[derive(Debug)]
pub(crate) struct Tried {
    form: &'static str,
    fields: Fields,
    errors: FieldErrors,
    refusal: Option<Refusal>,
    consequences: Option<Arc<Consequences>>,
}

impl Tried {
    /// A form that was sent to be looked at, with nothing wrong found.
    pub(crate) fn looked_at(submitted: &Submitted, form: &'static str) -> Self {
        Self {
            form,
            fields: submitted.fields.clone(),
            errors: FieldErrors::default(),
            refusal: None,
            consequences: None,
        }
    }
}

/// What a form's fields ask to record, or what is wrong with them.
pub(crate) type Asked = Result<(Fact, Instant), FieldErrors>;

impl Field {
    fn new(name: &'static str, label: &'static str, kind: FieldKind) -> Self {
        Self {
            name,
            label,
            hint: String::new(),
            kind,
            required: false,
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

impl EntryForm {
    /// A form of a page at an address; it is sent to a path below it.
    pub(crate) fn new(id: &'static str, page: &str, title: impl Into<String>) -> Self {
        Self {
            id,
            action: format!("{page}/{id}"),
            title: title.into(),
            button: "Record",
            hidden: Vec::new(),
            fields: Vec::new(),
            command: new_command(),
            refusal: None,
            consequences: None,
            again: false,
            open: false,
        }
    }

    /// Shows it unfolded from the beginning.
    pub(crate) fn unfolded(mut self) -> Self {
        self.open = true;
        self
    }

    /// The words on its button.
    pub(crate) fn button(mut self, words: &'static str) -> Self {
        self.button = words;
        self
    }

    /// Asks one more question.
    pub(crate) fn ask(mut self, field: Field) -> Self {
        self.fields.push(field);
        self
    }

    /// Asks some more questions.
    pub(crate) fn ask_all(mut self, fields: impl IntoIterator<Item = Field>) -> Self {
        self.fields.extend(fields);
        self
    }

    /// Brings something along unseen.
    pub(crate) fn bring(mut self, name: &'static str, value: impl Into<String>) -> Self {
        self.hidden.push((name, value.into()));
        self
    }

    /// Asks when it was and why, as every form does, and shows again what was tried.
    pub(crate) fn finish(self, tried: Option<&Tried>) -> Self {
        let form = self
            .ask(
                Field::text("at", "When")
                    .hint("Empty for now; else depot time, as 2026-03-31 10:15."),
            )
            .ask(Field::text("reason", "Note").hint("May stay empty."));
        match tried {
            Some(tried) if tried.form == form.id => form.shown_again(tried),
            _ => form,
        }
    }

    fn shown_again(mut self, tried: &Tried) -> Self {
        for field in &mut self.fields {
            tried.fields.text(field.name).clone_into(&mut field.value);
            field.error = tried.errors.of(field.name).cloned();
        }
        tried.fields.text("command").clone_into(&mut self.command);
        self.refusal = tried.refusal.as_ref().map(ShownRefusal::of);
        self.consequences.clone_from(&tried.consequences);
        self.again = !tried.errors.is_empty();
        self.open = true;
        self
    }
}

impl ShownRefusal {
    fn of(refusal: &Refusal) -> Self {
        Self {
            text: refusal.to_string(),
            entry: refusal
                .conflicting_entry()
                .map(|seq| (address::entry(seq), seq.to_string())),
        }
    }
}

/// The refusal of a form that the page no longer shows, since somebody else was faster.
pub(crate) fn left_over(tried: Option<&Tried>, forms: &[EntryForm]) -> Option<ShownRefusal> {
    let tried = tried.filter(|tried| forms.iter().all(|form| form.id != tried.form))?;
    tried.refusal.as_ref().map(ShownRefusal::of)
}

/// What a form asks to record, by the time that counts as now. Asked again when it was sent
/// twice: what was recorded at the first press counts as of then.
pub(crate) type Asks<'a> = &'a (dyn Fn(Now<'_>) -> Asked + Send + Sync);

/// Asks to record a fact that was read, or tells what is wrong with the fields, at the time that the
/// form says.
pub(crate) fn dated(
    fields: &Fields,
    (read, errors): (Option<Fact>, FieldErrors),
) -> impl Fn(Now<'_>) -> Asked + Send + Sync {
    move |now| {
        let mut errors = errors.clone();
        let at = fields.moment("at", now, &mut errors);
        match (&read, at) {
            (Some(fact), Some(at)) if errors.is_empty() => Ok((fact.clone(), at)),
            _ => Err(errors),
        }
    }
}

/// Records what a form asks for. Answers with what to show again where it was not recorded.
pub(crate) async fn record(
    state: &WebState,
    submitted: &Submitted,
    form: &'static str,
    asks: Asks<'_>,
) -> Result<Option<Tried>, Failure> {
    Ok(record_entry(state, submitted, form, asks).await?.err())
}

/// The same; answers with the entry where it was recorded, now or before.
pub(crate) async fn record_entry(
    state: &WebState,
    submitted: &Submitted,
    form: &'static str,
    asks: Asks<'_>,
) -> Result<Result<Seq, Tried>, Failure> {
    let mut tried = Tried::looked_at(submitted, form);
    let before = match submitted.fields.command_id() {
        Some(id) => state.store.recorded_as_of(id).await?,
        None => None,
    };
    let mut outcome = record_asked(state, submitted, asks, before).await;
    // The first press was still being recorded when it was asked for.
    if let Err(NotRecorded::Refused(Refusal::CommandReused { id, .. })) = outcome
        && before.is_none()
    {
        let before = state.store.recorded_as_of(id).await?;
        outcome = record_asked(state, submitted, asks, before).await;
    }
    match outcome {
        Ok(seq) => return Ok(Ok(seq)),
        Err(NotRecorded::Wrong(errors)) => tried.errors = errors,
        Err(NotRecorded::Would(consequences)) => tried.consequences = Some(consequences),
        Err(NotRecorded::Refused(Refusal::NotPermitted { needed })) => {
            return Err(Failure::NotPermitted(needed));
        }
        Err(NotRecorded::Refused(refusal)) => tried.refusal = Some(refusal),
        Err(NotRecorded::Failed(failure)) => return Err(failure),
    }
    Ok(Err(tried))
}

/// Why something was not recorded.
enum NotRecorded {
    /// The fields cannot be read.
    Wrong(FieldErrors),
    /// What it changes must be agreed to.
    Would(Arc<Consequences>),
    Refused(Refusal),
    Failed(Failure),
}

impl From<StoreError> for NotRecorded {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Refused(refusal) => Self::Refused(refusal),
            other => Self::Failed(other.into()),
        }
    }
}

/// Records what is asked as of the time of the first press, if there was one; what tells of long ago
/// only once what it changes was seen, and what fits only once the work was seen that stands on it.
async fn record_asked(
    state: &WebState,
    submitted: &Submitted,
    asks: Asks<'_>,
    before: Option<Instant>,
) -> Result<Seq, NotRecorded> {
    let (actor, now) = (&submitted.actor, state.now());
    let asked = asks((&state.zone, before.unwrap_or(now)));
    let (fact, at) = asked.map_err(NotRecorded::Wrong)?;
    let command = submitted.fields.command(fact, at);
    let told_late = command.is_back_dated(now);
    if told_late || command.fact.fits() {
        match state.store.foresee(actor, command.clone(), now).await {
            Ok(Foresight::Recorded(seq)) => return Ok(seq),
            Ok(Foresight::Would(foreseen)) => {
                let foreseen = foreseen.to_be_seen(told_late);
                let consequences = Consequences::new(&foreseen, &state.zone);
                if !foreseen.is_nothing() && !consequences.are_agreed_to(&submitted.fields) {
                    return Err(NotRecorded::Would(Arc::new(consequences)));
                }
            }
            // A refusal is one only when it is refused to be recorded.
            Err(StoreError::Refused(_)) => {}
            Err(other) => return Err(other.into()),
        }
    }
    match state.store.record(actor.clone(), command, now).await? {
        Recorded::Now(entry) => Ok(entry.seq),
        Recorded::Before(seq) => Ok(seq),
    }
}
