//! How a due list is asked for: fields of an address, read into a filter.

use crate::address::with_query;
use crate::as_at::{AsAtQuery, Speaks};
use crate::form::{FieldErrors, Fields};
use crate::misread::Misread;
use crate::state::WebState;
use domain::due::place::WorkPlace;
use domain::time::Day;
use domain::unreadable::Unreadable;
use store::StoreError;
use store::read::View;
use store::read::due::{DueCursor, DueFilter, DueItem};

/// Fields that say where to look.
pub(crate) const PLACE: [&str; 5] = ["fleet", "depot", "unit", "car", "part"];
/// The field that says whether to look on cars.
const ON: &str = "place";
/// Fields that say of which times it is told.
const TIMES: [&str; 2] = ["at", "known"];
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
    /// Of which times it tells.
    pub(crate) speaks: Speaks,
}

impl DueQuery {
    /// Reads the fields, as of now or of the times that they name.
    pub(crate) fn asked(fields: Fields, state: &WebState) -> Self {
        let times = AsAtQuery {
            at: fields.text("at").to_owned(),
            known: fields.text("known").to_owned(),
        };
        let mut errors = FieldErrors::default();
        let speaks = times.read(state).unwrap_or_else(|Misread(field, why)| {
            errors.add(field, format!("expected {}", why.expected));
            Speaks::now(state.now())
        });
        let today = state.zone.day_of(speaks.times.effective);
        Self::read((fields, errors), (speaks, today))
    }

    fn read((fields, mut errors): (Fields, FieldErrors), (speaks, today): (Speaks, Day)) -> Self {
        let after = match fields.text("after") {
            "" => None,
            text => cursor(text)
                .map_err(|why| errors.add("after", format!("expected {}", why.expected)))
                .ok(),
        };
        let filter = DueFilter {
            place: fields.optional(ON, &mut errors),
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
        if filter.place == Some(WorkPlace::OffCars) {
            let of_cars = ["fleet", "depot", "unit", "car"];
            if of_cars.iter().any(|field| !fields.text(field).is_empty()) {
                let expected = "expected on_cars or neither: what is in stores and workshops is of \
                                no fleet, depot, unit or car";
                errors.add(ON, expected);
            } else if speaks.then().is_some() && fields.text("part").is_empty() {
                let expected = "expected a part as well: of the past, due work off cars is told of one \
                                part";
                errors.add("part", expected);
            }
        }
        if filter.until.is_some() && !filter.has_dates() {
            let expected = "expected no day: this list is of work that has none for certain";
            errors.add("until", expected);
        }
        Self {
            fields,
            filter,
            errors,
            speaks,
        }
    }

    /// Where nothing was found, notes which fields name what is not in the register: that nothing
    /// is due there would be no answer. A statement only where nothing was found.
    pub(crate) async fn name_missing(
        &mut self,
        view: &mut View,
        found: &[DueItem],
    ) -> Result<(), StoreError> {
        if !found.is_empty() || !self.errors.is_empty() {
            return Ok(());
        }
        for field in view.not_there(self.filter.named()).await? {
            self.errors
                .add(field, "expected one that is in the register");
        }
        Ok(())
    }

    /// Whether what ends beside the work is told: of now, where the question can be read.
    pub(crate) fn tells_ends(&self) -> bool {
        self.speaks.then().is_none() && self.errors.is_empty()
    }

    /// Whether it looks everywhere.
    pub(crate) fn is_everywhere(&self) -> bool {
        PLACE.iter().all(|field| self.fields.text(field).is_empty())
    }

    /// The address of the same question on cars, on what is on none, or on both.
    pub(crate) fn placed(&self, path: &str, place: Option<WorkPlace>) -> String {
        let off_cars = place == Some(WorkPlace::OffCars);
        let kept = PLACE.iter().chain(&TIMES).chain(&QUESTION);
        // What is on no car is of no fleet or unit, and of a past time told of one part.
        let of_part = !self.fields.text("part").is_empty();
        let stays = |field: &str| {
            let question = field == "part" || QUESTION.contains(&field);
            question || (of_part && TIMES.contains(&field))
        };
        let kept = kept.filter(|field| !off_cars || stays(field));
        let kept = kept.map(|field| (*field, self.fields.text(field)));
        let place = (ON, place.map_or("", WorkPlace::name));
        with_query(path, std::iter::once(place).chain(kept))
    }

    /// The address of another question at the same place.
    pub(crate) fn ask(&self, path: &str, question: &[(&str, &str)]) -> String {
        let place = PLACE.iter().chain(&TIMES).chain(&[ON]);
        let place = place.map(|field| (*field, self.fields.text(field)));
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
        let fields = Fields(fields.into_iter().collect());
        let speaks = Speaks::now("2026-11-25T12:00Z".parse().unwrap());
        let query = DueQuery::read((fields, FieldErrors::default()), (speaks, today));
        assert!(query.errors.is_empty());
        assert_eq!(query.page("/due", None), "/due?fleet=Sedge&state=overdue");
        let other = query.ask("/due", &[("state", "unknown")]);
        assert_eq!(other, "/due?fleet=Sedge&state=unknown");
    }
}
