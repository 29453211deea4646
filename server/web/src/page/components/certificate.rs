//! The questions of a form about a certificate of release, and what they were answered with. All
//! may stay empty; with one of them answered, what a certificate must say is needed.

use crate::entry_form::Field;
use crate::form::{FieldErrors, Fields};
use domain::configuration::certificate::{Certificate, Left, LifeLeft};
use domain::identity::{LocationName, PersonName, TaskCode};
use domain::time::Day;
use domain::units::{Amount, Meter};

/// Which field holds the number, by which the certificate is known in the rest of the form.
const NAMES: [&str; 9] = [
    "issuer",
    "signed_by",
    "signed_on",
    "supervised_by",
    "place",
    "instruction",
    "work_done",
    "not_done",
    "left",
];

/// The questions, besides the certificate's number.
pub(crate) fn questions() -> Vec<Field> {
    vec![
        Field::text("issuer", "Certificate: issued by")
            .hint("The organisation, with its authority. Leave all of these empty to give the number alone."),
        Field::text("signed_by", "Certificate: signed by"),
        Field::text("signed_on", "Certificate: signed on").hint("As 2026-03-31."),
        Field::text("supervised_by", "Certificate: work supervised by"),
        Field::text("place", "Certificate: where the work was done"),
        Field::text("instruction", "Certificate: instruction worked to, with its revision"),
        Field::text("work_done", "Certificate: what was done"),
        Field::text("not_done", "Certificate: what was not done")
            .hint("Empty where it does not say; “nothing” where it says so."),
        Field::text("left", "Certificate: life left, by each clock")
            .hint("A task with a day, kilometres or hours, each after a semicolon: “LL-DV 300000 km; LL-DV 2031-05-01”. Hours as “running_hours 1200” or “compressor_hours 400”."),
    ]
}

/// What a certificate says, by the names of the questions.
pub(crate) fn said(certificate: &Certificate) -> Vec<(&'static str, String)> {
    let supervised_by = certificate.supervised_by.as_ref();
    let place = certificate.place.as_ref();
    let left: Vec<String> = certificate.left.iter().map(typed).collect();
    vec![
        ("issuer", certificate.issuer.clone()),
        ("signed_by", certificate.signed_by.to_string()),
        ("signed_on", certificate.signed_on.to_string()),
        (
            "supervised_by",
            supervised_by.map_or_else(String::new, ToString::to_string),
        ),
        ("place", place.map_or_else(String::new, ToString::to_string)),
        ("instruction", certificate.instruction.clone()),
        ("work_done", certificate.done.clone()),
        ("not_done", certificate.not_done.clone().unwrap_or_default()),
        ("left", left.join("; ")),
    ]
}

/// What is left as it is typed.
fn typed(left: &LifeLeft) -> String {
    let task = &left.task;
    match left.left {
        Left::Until(day) => format!("{task} {day}"),
        Left::Run { meter, amount } => format!("{task} {} {amount}", meter.name()),
    }
}

/// What was answered; none where nothing was. `number` is the field of the certificate's number.
pub(crate) fn answered(
    fields: &Fields,
    number: &'static str,
    errors: &mut FieldErrors,
) -> Option<Box<Certificate>> {
    if NAMES.iter().all(|name| fields.text(name).is_empty()) {
        return None;
    }
    let text = |name: &'static str, errors: &mut FieldErrors| {
        let text = fields.text(name).to_owned();
        if text.is_empty() {
            errors.add(
                name,
                "a certificate says this; or leave all of its fields empty",
            );
        }
        text
    };
    let number = text(number, errors);
    let issuer = text("issuer", errors);
    let instruction = text("instruction", errors);
    let done = text("work_done", errors);
    let signed_by: Option<PersonName> = fields.required("signed_by", errors);
    let signed_on: Option<Day> = fields.required("signed_on", errors);
    let supervised_by: Option<PersonName> = fields.optional("supervised_by", errors);
    let place: Option<LocationName> = fields.optional("place", errors);
    let left = left(fields.text("left"), errors);
    let not_done = Some(fields.text("not_done").to_owned()).filter(|text| !text.is_empty());
    Some(Box::new(Certificate {
        number,
        issuer,
        signed_by: signed_by?,
        signed_on: signed_on?,
        supervised_by,
        place,
        instruction,
        done,
        not_done,
        left,
    }))
}

fn left(text: &str, errors: &mut FieldErrors) -> Vec<LifeLeft> {
    let parts = text
        .split(';')
        .map(str::trim)
        .filter(|part| !part.is_empty());
    let mut all = Vec::new();
    for part in parts {
        match one_left(part) {
            Some(left) => all.push(left),
            None => errors.add(
                "left",
                "a task with a day, kilometres or hours, as “LL-DV 300000 km; LL-DV 2031-05-01”",
            ),
        }
    }
    all
}

/// `TASK DAY`, `TASK AMOUNT km` or `TASK METER AMOUNT`.
fn one_left(text: &str) -> Option<LifeLeft> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let run = |meter: Meter, amount: &str| {
        let amount: Amount = amount.parse().ok()?;
        Some(Left::Run { meter, amount })
    };
    let (task, left): (&str, Left) = match words.as_slice() {
        [task, day] => (task, Left::Until(day.parse().ok()?)),
        [task, amount, "km"] => (task, run(Meter::Odometer, amount)?),
        [task, meter, amount] => (task, run(meter.parse().ok()?, amount)?),
        _ => return None,
    };
    let task: TaskCode = task.parse().ok()?;
    Some(LifeLeft { task, left })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_is_read_by_each_clock_and_nothing_else_is() {
        let shown = |text| one_left(text).map(|left| left.to_string());
        let day = shown("LL-DV 2031-05-01");
        assert_eq!(day.as_deref(), Some("LL-DV: until 2031-05-01"));
        let km = shown("LL-DV 300000 km");
        assert_eq!(km.as_deref(), Some("LL-DV: 300000 km left"));
        let hours = shown("OH-C compressor_hours 400");
        assert_eq!(hours.as_deref(), Some("OH-C: 400 h left"));
        for text in [
            "LL-DV 2031-05-01",
            "LL-DV 300000 km",
            "OH-C compressor_hours 400",
        ] {
            let left = one_left(text).expect("what is left");
            assert_eq!(one_left(&typed(&left)), Some(left), "{text}");
        }
        for wrong in [
            "LL-DV",
            "LL-DV soon",
            "LL-DV -5 km",
            "LL-DV 5 miles",
            "a b c d",
        ] {
            assert_eq!(shown(wrong), None, "{wrong}");
        }
    }
}
