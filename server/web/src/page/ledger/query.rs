//! How entries are asked for: fields of an address, read into a filter.

use super::number;
use crate::address::with_query;
use crate::form::{FieldErrors, Fields};
use domain::ledger::entry::Seq;
use domain::ledger::subjects::EntrySubject;
use domain::time::{Day, Zone};
use store::StoreError;
use store::read::View;
use store::read::entries::{ENTRIES_PAGE, EntryFilter};

/// The fields that narrow the list.
const NARROWING: [&str; 6] = ["kind", "about", "name", "by", "from", "until"];

/// Entries as asked for.
#[derive(Debug)]
pub(crate) struct EntriesQuery {
    /// The fields as typed.
    pub(super) fields: Fields,
    /// What they mean, as far as they can be read.
    pub(crate) filter: EntryFilter,
    /// What cannot be read, by field.
    pub(crate) errors: FieldErrors,
}

impl EntriesQuery {
    /// Reads the fields; days are those of the depot's zone.
    pub(crate) fn read(fields: Fields, zone: &Zone) -> Self {
        let mut errors = FieldErrors::default();
        let before = match fields.text("before") {
            "" => None,
            text => number(text)
                .map_err(|why| errors.add("before", format!("expected {}", why.expected)))
                .ok(),
        };
        let start_of = |day: Day| zone.start_of(day);
        let filter = EntryFilter {
            kind: fields.optional("kind", &mut errors),
            about: about(&fields, &mut errors),
            actor: fields.optional("by", &mut errors),
            from: fields.day("from", &mut errors).map(start_of),
            until: fields
                .day("until", &mut errors)
                .map(|day| start_of(day.plus_days(1))),
            before,
            rows: ENTRIES_PAGE,
        };
        Self {
            fields,
            filter,
            errors,
        }
    }

    /// Refuses a question for what entries are about while that is not kept of all of them: it
    /// would be answered with too few.
    pub(crate) async fn refuse_unkept(&mut self, view: &mut View) -> Result<(), StoreError> {
        if self.filter.about.is_some()
            && let Some(after) = view.subjects_after().await?
        {
            let why = format!(
                "what entries are about is not yet kept up to {after}; whoever runs the server \
                 must run `register rebuild --replace` once"
            );
            self.errors.add("about", why);
        }
        Ok(())
    }

    /// Whether the list is narrowed.
    pub(super) fn is_narrowed(&self) -> bool {
        NARROWING
            .iter()
            .any(|field| !self.fields.text(field).is_empty())
    }

    /// The address of the same question, of the entries before one; of the newest without one.
    pub(super) fn page(&self, path: &str, before: Option<Seq>) -> String {
        let before = before.map(|seq| seq.0.to_string()).unwrap_or_default();
        let kept = NARROWING.map(|field| (field, self.fields.text(field)));
        with_query(path, kept.into_iter().chain([("before", &*before)]))
    }
}

/// What the entries are to be about: a kind of thing, and its name.
fn about(fields: &Fields, errors: &mut FieldErrors) -> Option<EntrySubject> {
    let name = fields.text("name").to_owned();
    let kind = fields.optional("about", errors);
    if kind.is_none() && !name.is_empty() && errors.is_empty() {
        errors.add("about", "expected what kind of thing the name is of");
    }
    if kind.is_some() && name.is_empty() {
        errors.add("name", "expected its name");
        return None;
    }
    Some(EntrySubject { kind: kind?, name })
}
