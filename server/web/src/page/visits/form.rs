//! The form by which a visit is planned, and planned otherwise.

use crate::entry_form::{Asked, EntryForm, Field, entry_named};
use crate::form::{FieldErrors, Fields, Now};
use domain::due::visit::Visit;
use domain::identity::{ModificationNumber, VisitNumber};
use domain::ledger::fact::Fact;
use domain::time::Instant;
use std::collections::{BTreeMap, BTreeSet};
use store::StoreError;
use store::read::View;

/// What there is to choose from.
#[derive(Debug)]
pub(super) struct Offered {
    /// Where units can be, by name, each with what it is.
    depots: BTreeMap<String, String>,
    /// The modifications that are issued.
    issued: Vec<ModificationNumber>,
}

impl Offered {
    /// One statement.
    pub(super) async fn read(view: &mut View, now: Instant) -> Result<Self, StoreError> {
        let depots = view.due_places().await?.depots;
        let depots = depots
            .iter()
            .map(|name| (name.to_string(), "depot".to_owned()));
        let mut depots: BTreeMap<String, String> = depots.collect();
        let locations = view.documents.locations(now);
        for (name, kind) in locations.filter(|(_, kind)| kind.takes_visits()) {
            let what = depots.entry(name.to_string()).or_default();
            // A depot that has a workshop of its name is one place.
            let and = if what.is_empty() { "" } else { " and " };
            *what = format!("{what}{and}{kind}");
        }
        Ok(Self {
            depots,
            issued: view.documents.modifications.keys().cloned().collect(),
        })
    }
}

/// What the form knows before anybody fills it in.
#[derive(Debug, Default)]
pub(super) struct Known {
    pub(super) unit: String,
    pub(super) depot: String,
    pub(super) from: String,
    pub(super) until: String,
    pub(super) hours: String,
    pub(super) modifications: String,
}

impl From<&Visit> for Known {
    fn from(visit: &Visit) -> Self {
        let modifications = visit.modifications.iter();
        let modifications: Vec<String> = modifications.map(ToString::to_string).collect();
        Self {
            unit: visit.unit.to_string(),
            depot: visit.depot.to_string(),
            from: visit.from.to_string(),
            until: visit.until.to_string(),
            hours: u32::from(visit.hours).to_string(),
            modifications: modifications.join(", "),
        }
    }
}

/// Asks for everything but the number.
pub(super) fn ask(form: EntryForm, known: &Known, offered: &Offered) -> EntryForm {
    let day = "A day, as 2026-03-31.";
    let issued = offered.issued.iter();
    let all = issued.map(ToString::to_string).collect::<Vec<_>>();
    let depots = offered
        .depots
        .iter()
        .map(|(name, what)| (name.clone(), format!("{name} ({what})")));
    let choose = (String::new(), "choose".to_owned());
    let hint = if all.is_empty() {
        "None is issued yet.".to_owned()
    } else {
        format!(
            "Their numbers, with commas between them. Issued: {}.",
            all.join(", ")
        )
    };
    form.ask(
        Field::text("unit", "Unit")
            .with_value(known.unit.as_str())
            .required(),
    )
    .ask(
        Field::one_of("depot", "Depot", std::iter::once(choose).chain(depots))
            .with_value(known.depot.as_str())
            .required(),
    )
    .ask(
        Field::text("from", "Comes on")
            .hint(day)
            .with_value(known.from.as_str())
            .required(),
    )
    .ask(
        Field::text("until", "Goes on")
            .hint(day)
            .with_value(known.until.as_str())
            .required(),
    )
    .ask(
        Field::text("hours", "Hours of work there are for it")
            .with_value(known.hours.as_str())
            .required(),
    )
    .ask(
        Field::text("modifications", "Modifications to be embodied")
            .hint(hint)
            .with_value(known.modifications.as_str()),
    )
}

/// Reads it; the number is that of the page, or else of a field.
pub(super) fn asked(fields: &Fields, number: Option<VisitNumber>, now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let number = number.or_else(|| fields.required("number", &mut errors));
    let unit = fields.required("unit", &mut errors);
    let depot = fields.chosen("depot", &mut errors);
    let from = fields.required("from", &mut errors);
    let until = fields.required("until", &mut errors);
    let hours = fields.required("hours", &mut errors);
    let modifications = modifications(fields, &mut errors);
    let in_place_of = entry_named("planned_by", fields.text("planned_by"));
    let in_place_of = in_place_of.unwrap_or_else(|why| {
        errors.add("planned_by", format!("expected {}", why.expected));
        None
    });
    let at = fields.moment("at", now, &mut errors);
    match (number, unit, depot, from, until, hours, at) {
        (Some(number), Some(unit), Some(depot), Some(from), Some(until), Some(hours), Some(at))
            if errors.is_empty() =>
        {
            let visit = Visit {
                number,
                unit,
                depot,
                from,
                until,
                hours,
                modifications,
                in_place_of,
            };
            Ok((Fact::VisitPlanned(Box::new(visit)), at))
        }
        _ => Err(errors),
    }
}

fn modifications(fields: &Fields, errors: &mut FieldErrors) -> BTreeSet<ModificationNumber> {
    let mut numbers = BTreeSet::new();
    let named = fields
        .text("modifications")
        .split([',', ';'])
        .map(str::trim);
    for text in named.filter(|text| !text.is_empty()) {
        match text.parse() {
            Ok(number) => drop(numbers.insert(number)),
            Err(why) => {
                let why: domain::unreadable::Unreadable = why;
                errors.add(
                    "modifications",
                    format!("{text}: expected {}", why.expected),
                );
            }
        }
    }
    numbers
}
