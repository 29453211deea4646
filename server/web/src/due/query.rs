//! How a due list is asked for: fields of an address, read into a filter.

use crate::address::with_query;
use crate::form::{FieldErrors, Fields};
use domain::time::Day;
use domain::unreadable::Unreadable;
use store::read::due::{DueCursor, DueFilter};

/// Fields that say where to look.
pub(crate) const PLACE: [&str; 5] = ["fleet", "depot", "unit", "car", "part"];
/// Fields that say what to look for there.
pub(crate) const QUESTION: [&str; 2] = ["state", "until"];

/// A due list as asked for.
#[derive(Debug)]
pub(crate) struct DueQuery {
    /// The fields as typed.
    pub(crate) fields: Fields,
    /// What they mean, as far as they can be read.
    pub(crate) filter: DueFilter,
    /// What cannot be read, by field.
    pub(crate) errors: FieldErrors,
}

impl DueQuery {
    /// Reads the fields, as on a day.
    pub(crate) fn read(fields: Fields, today: Day) -> Self {
        let mut errors = FieldErrors::default();
        let after = match fields.text("after") {
            "" => None,
            text => cursor(text)
                .map_err(|why| errors.add("after", format!("expected {}", why.expected)))
                .ok(),
        };
        let filter = DueFilter {
            fleet: fields.optional("fleet", &mut errors),
            depot: fields.optional("depot", &mut errors),
            unit: fields.optional("unit", &mut errors),
            car: fields.optional("car", &mut errors),
            part: fields.optional("part", &mut errors),
            state: fields.optional("state", &mut errors),
            until: fields.day("until", &mut errors),
            after,
            ..DueFilter::all(today)
        };
        Self {
            fields,
            filter,
            errors,
        }
    }

    /// Whether it looks everywhere.
    pub(crate) fn is_everywhere(&self) -> bool {
        PLACE.iter().all(|field| self.fields.text(field).is_empty())
    }

    /// The address of another question at the same place.
    pub(crate) fn ask(&self, path: &str, question: &[(&str, &str)]) -> String {
        let place = PLACE.iter().map(|field| (*field, self.fields.text(field)));
        with_query(path, place.chain(question.iter().copied()))
    }

    /// The address of the same question and place, from a row on; from the first without one.
    pub(crate) fn page(&self, path: &str, after: Option<&DueCursor>) -> String {
        let after = after.map(cursor_text).unwrap_or_default();
        let question = QUESTION.map(|field| (field, self.fields.text(field)));
        let question: Vec<_> = question.into_iter().chain([("after", &*after)]).collect();
        self.ask(path, &question)
    }
}

/// What stands for the day where there is none.
const NO_DAY: &str = "none";

/// A cursor as text: day, number of the subject and task, with dots between them.
pub(crate) fn cursor_text(cursor: &DueCursor) -> String {
    let on = cursor.on.map_or(NO_DAY.to_owned(), |on| on.to_string());
    format!("{on}.{}.{}", cursor.subject, cursor.task)
}

fn cursor(text: &str) -> Result<DueCursor, Unreadable> {
    let refuse = || Unreadable::new("after", text, "what the link to the next page has there");
    let mut parts = text.splitn(3, '.');
    let mut next = || parts.next().ok_or_else(refuse);
    let on = match next()? {
        NO_DAY => None,
        day => Some(day.parse().map_err(|_| refuse())?),
    };
    Ok(DueCursor {
        on,
        subject: next()?.parse().map_err(|_| refuse())?,
        task: next()?.parse().map_err(|_| refuse())?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cursor_comes_back_from_its_text() {
        for on in [None, Some("2026-11-30".parse().unwrap())] {
            let given = DueCursor {
                on,
                subject: 42,
                task: "OH-1.2".parse().unwrap(),
            };
            assert_eq!(cursor(&cursor_text(&given)).unwrap(), given);
        }
        for bad in ["", "none", "none.x.T", "2026-13-01.1.T", "none.1."] {
            assert!(cursor(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn links_keep_the_place_and_the_question() {
        let fields = [("fleet", "Sedge"), ("state", "overdue"), ("other", "x")];
        let fields = fields.map(|(name, value)| (name.to_owned(), value.to_owned()));
        let today = "2026-11-25".parse().unwrap();
        let query = DueQuery::read(Fields(fields.into_iter().collect()), today);
        assert!(query.errors.is_empty());
        assert_eq!(query.page("/due", None), "/due?fleet=Sedge&state=overdue");
        let other = query.ask("/due", &[("state", "unknown")]);
        assert_eq!(other, "/due?fleet=Sedge&state=unknown");
    }
}
