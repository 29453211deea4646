//! Forms: fields read into core types, all errors at once, each beside its field.

use crate::failure::Failure;
use crate::guard;
use crate::recorded::Note;
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::{Form, FromRequest, FromRequestParts, Request};
use domain::ledger::command::Command;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::Actor;
use domain::time::{Day, Instant, Zone};
use domain::unreadable::Unreadable;
use std::collections::BTreeMap;
use std::str::FromStr;
use uuid::Uuid;

/// What stands for bytes that were no UTF-8 once a form is decoded: what it replaced is lost.
const REPLACED: char = '\u{FFFD}';

/// A form sent by somebody who is signed in, from a page of ours.
#[derive(Debug)]
pub(crate) struct Submitted {
    /// Who sent it.
    pub(crate) actor: Actor,
    /// Who is signed in, for the frame of a page that shows the form again.
    pub(crate) signed_in: SignedIn,
    /// What was typed.
    pub(crate) fields: Fields,
    /// Where the entry is noted that it records.
    pub(crate) note: Note,
}

impl FromRequest<WebState> for Submitted {
    type Rejection = Failure;

    async fn from_request(request: Request, state: &WebState) -> Result<Self, Failure> {
        let (mut parts, body) = request.into_parts();
        let signed_in = match SignedIn::from_request_parts(&mut parts, state).await {
            Ok(signed_in) => signed_in,
            Err(never) => match never {},
        };
        let headers = parts.headers.clone();
        let note = parts.extensions.get::<Note>().cloned().unwrap_or_default();
        let request = Request::from_parts(parts, body);
        let Form(pairs) = Form::<Vec<(String, String)>>::from_request(request, state)
            .await
            .map_err(|why| {
                Unreadable::new("form", &why.to_string(), "fields as a browser sends them")
            })?;
        let fields = Fields(pairs.into_iter().collect());
        guard::form_is_ours(&headers, &signed_in, fields.text("form_token"))?;
        if let Some((name, value)) = fields.0.iter().find(|(_, value)| value.contains(REPLACED)) {
            let expected = format!("text in UTF-8 in its field {name}, as browsers send it");
            return Err(Unreadable::new("form", value, expected).into());
        }
        let actor = signed_in.actor()?;
        Ok(Self {
            actor,
            signed_in,
            fields,
            note,
        })
    }
}

/// The fields of a form as typed.
#[derive(Debug, Default, Clone)]
pub(crate) struct Fields(pub(crate) BTreeMap<String, String>);

/// The time that counts as now where nobody gave one, and the zone of the times that are typed.
pub(crate) type Now<'a> = (&'a Zone, Instant);

/// What is wrong with a form, by field.
#[derive(Debug, Default, Clone)]
pub(crate) struct FieldErrors(BTreeMap<String, String>);

impl FieldErrors {
    /// Whether nothing is wrong.
    pub(crate) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// What is wrong with a field, for the template.
    pub(crate) fn of(&self, field: &str) -> Option<&String> {
        self.0.get(field)
    }

    /// What is wrong, by field.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (&String, &String)> {
        self.0.iter()
    }

    /// The first that is wrong, by the name of its field.
    pub(crate) fn first(&self) -> Option<(&str, &str)> {
        let (field, what) = self.0.first_key_value()?;
        Some((field, what))
    }

    /// Notes what is wrong with a field.
    pub(crate) fn add(&mut self, field: &str, what: impl Into<String>) {
        self.0.insert(field.to_owned(), what.into());
    }
}

impl Fields {
    /// A field as typed; nothing where it was not sent.
    pub(crate) fn text(&self, name: &str) -> &str {
        self.0.get(name).map_or("", |text| text.trim())
    }

    /// A field to the letter, as for passwords.
    pub(crate) fn exact(&self, name: &str) -> &str {
        self.0.get(name).map_or("", String::as_str)
    }

    /// A field that must be there.
    pub(crate) fn required<T>(&self, name: &str, errors: &mut FieldErrors) -> Option<T>
    where
        T: FromStr<Err = Unreadable>,
    {
        match self.text(name).parse() {
            Ok(value) => Some(value),
            Err(why) => {
                errors.add(name, format!("expected {}", why.expected));
                None
            }
        }
    }

    /// A choice that nobody makes by leaving it as it was.
    pub(crate) fn chosen<T>(&self, name: &str, errors: &mut FieldErrors) -> Option<T>
    where
        T: FromStr<Err = Unreadable>,
    {
        if self.text(name).is_empty() {
            errors.add(name, "expected one of those to choose from");
            return None;
        }
        self.required(name, errors)
    }

    /// A field that may be left empty.
    pub(crate) fn optional<T>(&self, name: &str, errors: &mut FieldErrors) -> Option<T>
    where
        T: FromStr<Err = Unreadable>,
    {
        if self.text(name).is_empty() {
            None
        } else {
            self.required(name, errors)
        }
    }

    /// A moment typed as `2026-03-31 10:15` at the depot, or with an offset; now where empty.
    pub(crate) fn moment(
        &self,
        name: &str,
        (zone, now): Now<'_>,
        errors: &mut FieldErrors,
    ) -> Option<Instant> {
        let text = self.text(name);
        if text.is_empty() {
            return Some(now);
        }
        match zone.moment(text) {
            Ok(moment) => Some(moment),
            Err(why) => {
                errors.add(name, format!("expected {}", why.expected));
                None
            }
        }
    }

    /// The identity that the form was given when it was shown.
    pub(crate) fn command_id(&self) -> Option<Uuid> {
        self.text("command").parse().ok()
    }

    /// The command of a fact, with the identity that the form was given when it was shown, so
    /// that a form sent twice is recorded once.
    pub(crate) fn command(&self, fact: Fact, effective_at: Instant) -> Command {
        let id = self.command_id().unwrap_or_else(Uuid::now_v7);
        let reason = match self.text("reason") {
            "" => says_why(&fact).to_owned(),
            reason => reason.to_owned(),
        };
        Command {
            id,
            effective_at,
            reason,
            corrects: None,
            fact,
        }
    }

    /// A calendar date that may be left empty.
    pub(crate) fn day(&self, name: &str, errors: &mut FieldErrors) -> Option<Day> {
        self.optional(name, errors)
    }
}

/// Why it is recorded, of a fact that says so itself: nobody is asked for it twice.
fn says_why(fact: &Fact) -> &str {
    match fact {
        Fact::Isolated(cut_out) => &cut_out.cause,
        Fact::HeldAsEvidence { investigation, .. } => investigation,
        Fact::Proposed(Proposal::Concession(concession)) => &concession.reason,
        _ => "",
    }
}

/// The identity of a form's command, for a hidden field.
pub(crate) fn new_command() -> String {
    Uuid::now_v7().to_string()
}
