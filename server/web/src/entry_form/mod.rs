//! Forms that record an entry: described once, shown empty or again with what was typed, and
//! recorded.

mod field;

pub(crate) use field::Field;

use crate::address;
use crate::consequences::Consequences;
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted, new_command};
use crate::state::WebState;
use domain::ledger::bearing::Bearing;
use domain::ledger::command::Command;
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use domain::refusal::Refusal;
use domain::time::Instant;
use domain::unreadable::Unreadable;
use std::sync::Arc;
use store::{Foresight, StoreError};

/// A form that records one entry.
#[derive(Debug)]
pub(crate) struct EntryForm {
    /// Its name on the page, by which errors lead back to it.
    pub(crate) id: &'static str,
    /// Where it is sent.
    pub(crate) action: String,
    /// The entry in whose place its entry is put, and when that became true.
    corrects: Option<(Seq, Instant)>,
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

impl Tried {
    /// Why it was refused, if it was.
    pub(crate) fn refusal(&self) -> Option<ShownRefusal> {
        self.refusal.as_ref().map(ShownRefusal::of)
    }

    /// What it changes, to be agreed to.
    pub(crate) fn consequences(&self) -> Option<Arc<Consequences>> {
        self.consequences.clone()
    }
}

/// The entry in whose place a form puts another, if it names one.
pub(crate) fn corrected(text: &str) -> Result<Option<Seq>, Unreadable> {
    entry_named("corrects", text)
}

/// The entry that a field names, if it names one.
pub(crate) fn entry_named(field: &'static str, text: &str) -> Result<Option<Seq>, Unreadable> {
    if text.is_empty() {
        return Ok(None);
    }
    match text.parse() {
        Ok(number @ 1..) => Ok(Some(Seq(number))),
        _ => Err(Unreadable::new(field, text, "the number of an entry")),
    }
}

/// What a form's fields ask to record, or what is wrong with them.
pub(crate) type Asked = Result<(Fact, Instant), FieldErrors>;

impl EntryForm {
    /// A form of a page at an address; it is sent to a path below it.
    pub(crate) fn new(id: &'static str, page: &str, title: impl Into<String>) -> Self {
        Self {
            id,
            action: format!("{page}/{id}"),
            corrects: None,
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

    /// Puts its entry in the place of one that was wrong, and begins with what that one says.
    pub(crate) fn correcting(mut self, wrong: &Entry, said: &[(&'static str, String)]) -> Self {
        for field in &mut self.fields {
            if let Some((_, value)) = said.iter().find(|(name, _)| *name == field.name) {
                field.value.clone_from(value);
            }
        }
        self.corrects = Some((wrong.seq, wrong.effective_at));
        self.bring("corrects", wrong.seq.0.to_string())
    }

    /// Asks when it was and why, as every form does, and shows again what was tried.
    pub(crate) fn finish(self, tried: Option<&Tried>) -> Self {
        let when = Field::text("at", "When");
        let (when, why) = match self.corrects {
            Some((_, at)) => (
                when.hint("As it was recorded; else depot time, as 2026-03-31 10:15.")
                    .with_value(at.to_string()),
                Field::text("reason", "Why was it wrong?").required(),
            ),
            None => (
                when.hint("Empty for now; else depot time, as 2026-03-31 10:15."),
                Field::text("reason", "Reason").hint("May stay empty, where none is asked for."),
            ),
        };
        let form = self.ask(when);
        // Some forms ask for the reason in words of their own.
        let says_why = |field: &Field| field.says_why || field.name == why.name;
        let form = if form.fields.iter().any(says_why) {
            form
        } else {
            form.ask(why)
        };
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
        // A form that has recorded something else already records what stands in it now as new.
        if !matches!(tried.refusal, Some(Refusal::CommandReused { .. })) {
            tried.fields.text("command").clone_into(&mut self.command);
        }
        let refusal = tried.refusal.as_ref();
        self.refusal = refusal.map(|refusal| self.refused(refusal));
        self.consequences.clone_from(&tried.consequences);
        self.again = !tried.errors.is_empty();
        self.open = true;
        self
    }

    /// Why it was refused, with a field called as the form does.
    fn refused(&self, refusal: &Refusal) -> ShownRefusal {
        let (all, of) = (|| self.fields.iter(), refusal.field());
        let named = |field: &&Field| field.name == of;
        // What says why is the reason of the entry too, and may be refused as that.
        let says_why = |field: &&Field| field.says_why && of == "reason";
        match all().find(named).or_else(|| all().find(says_why)) {
            Some(field) => ShownRefusal::told(refusal, &refusal.labelled(field.label)),
            None => ShownRefusal::of(refusal),
        }
    }
}

impl ShownRefusal {
    fn of(refusal: &Refusal) -> Self {
        Self::told(refusal, &refusal.to_string())
    }

    fn told(refusal: &Refusal, told: &str) -> Self {
        let text = match refusal {
            Refusal::CommandReused { by, .. } => format!(
                "this form has already recorded {by}, with something else in it. If that was wrong, correct it there; to record what stands here besides, press again"
            ),
            _ => told.trim_end_matches('.').to_owned(),
        };
        Self {
            text,
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
    record_in_place(state, submitted, (form, None), asks).await
}

/// The same, in the place of an entry that was wrong, where one is named.
pub(crate) async fn record_in_place(
    state: &WebState,
    submitted: &Submitted,
    (form, corrects): (&'static str, Option<Seq>),
    asks: Asks<'_>,
) -> Result<Result<Seq, Tried>, Failure> {
    let mut tried = Tried::looked_at(submitted, form);
    let before = match submitted.fields.command_id() {
        Some(id) => state.store.recorded_as_of(id).await?,
        None => None,
    };
    let mut outcome = record_asked(state, submitted, (asks, corrects), before).await;
    // The first press was still being recorded when it was asked for.
    if let Err(NotRecorded::Refused(Refusal::CommandReused { id, .. })) = outcome
        && before.is_none()
    {
        let before = state.store.recorded_as_of(id).await?;
        outcome = record_asked(state, submitted, (asks, corrects), before).await;
    }
    match outcome {
        Ok(seq) => {
            submitted.note.entry(seq);
            return Ok(Ok(seq));
        }
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

/// Records what is asked as of the time of the first press, if there was one; what corrects or tells
/// of long ago only once what it changes was seen, what fits only once the work was seen that stands on
/// it, and a test only once the ended cut-outs were seen that are not proved with it.
async fn record_asked(
    state: &WebState,
    submitted: &Submitted,
    (asks, corrects): (Asks<'_>, Option<Seq>),
    before: Option<Instant>,
) -> Result<Seq, NotRecorded> {
    let (actor, now) = (&submitted.actor, state.now());
    let asked = asks((&state.zone, before.unwrap_or(now)));
    let (fact, at) = asked.map_err(NotRecorded::Wrong)?;
    let command = Command {
        corrects,
        ..submitted.fields.command(fact, at)
    };
    let told_late = command.changes_the_past(now);
    let since_before = command.effective_at < now || command.fact.may_have_been_before();
    let moves = command.fact.bearing() == Bearing::Verdict || command.fact.keeps_from_use();
    let before_now = since_before && moves;
    let may_unprove = since_before && command.fact.may_unprove();
    if told_late || before_now || may_unprove || command.fact.fits() {
        match state.store.foresee(actor, command.clone(), now).await {
            Ok(Foresight::Recorded(seq)) => return Ok(seq),
            Ok(Foresight::Would(foreseen)) => {
                // Within a day people write down what they just did, unless a decision lies between.
                let foreseen = if told_late || (before_now && !foreseen.verdicts.is_empty()) {
                    *foreseen
                } else {
                    foreseen.fitted_alone()
                };
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
    let recorded = state.store.record(actor.clone(), command, now).await?;
    Ok(recorded.seq())
}
