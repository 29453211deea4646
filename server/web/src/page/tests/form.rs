//! The form of a test: what it asks, and the record that is read from it.

use super::judged::{Outcome, limits, name};
use crate::consequences::Consequences;
use crate::entry_form::ShownRefusal;
use crate::form::{FieldErrors, Fields, new_command};
use crate::state::WebState;
use domain::configuration::component::Subject;
use domain::ledger::entry::Seq;
use domain::test_record::procedure::Procedure;
use domain::test_record::record::{Instrument, MeasuredValue, TestRecord};
use std::sync::Arc;

/// The form of one procedure.
pub(super) struct TestForm {
    pub(super) procedure: Arc<Procedure>,
    pub(super) hidden: Vec<(&'static str, String)>,
    /// Who, when, with which instrument.
    pub(super) fields: Vec<TestField>,
    /// What is measured, each with its limits as the hint.
    pub(super) values: Vec<TestField>,
    pub(super) refusal: Option<ShownRefusal>,
    /// What it changes, to be agreed to.
    pub(super) consequences: Option<Arc<Consequences>>,
    pub(super) again: bool,
    /// What the values typed come to, before they are recorded.
    pub(super) outcome: Option<Outcome>,
}

/// A field of it.
pub(super) struct TestField {
    pub(super) name: String,
    pub(super) label: String,
    pub(super) hint: String,
    pub(super) value: String,
    pub(super) error: Option<String>,
    pub(super) required: bool,
}

/// What was typed and not recorded.
#[derive(Default)]
pub(super) struct Typed<'a> {
    pub(super) fields: Option<&'a Fields>,
    pub(super) errors: FieldErrors,
    pub(super) refusal: Option<ShownRefusal>,
    pub(super) consequences: Option<Arc<Consequences>>,
    pub(super) outcome: Option<Outcome>,
}

/// What a record says, by the names of the fields of its form.
pub(super) fn said(record: &TestRecord, procedure: &Procedure) -> Fields {
    let calibrated = record.instrument.calibrated_until;
    let calibrated = calibrated.map_or_else(String::new, |day| day.to_string());
    let mut said = vec![
        ("id".to_owned(), record.id.to_string()),
        ("tester".to_owned(), record.tester.to_string()),
        (
            "instrument".to_owned(),
            record.instrument.number.to_string(),
        ),
        ("calibrated_until".to_owned(), calibrated),
        ("at".to_owned(), record.at.to_string()),
        ("command".to_owned(), new_command()),
    ];
    for (place, measurand) in procedure.measurands.iter().enumerate() {
        let mut values = record.values.iter();
        let measured =
            values.find(|one| one.measurand == measurand.name && one.load == measurand.load);
        said.extend(measured.map(|one| (value_name(place), one.value.to_string())));
    }
    Fields(said.into_iter().collect())
}

/// The form of a procedure, with what was typed.
pub(super) fn form(
    procedure: &Arc<Procedure>,
    (subject, corrects): (&Subject, Option<Seq>),
    tester: &str,
    typed: Typed<'_>,
) -> TestForm {
    let mut hidden = vec![("procedure", procedure.code.to_string())];
    hidden.push(("revision", procedure.revision.to_string()));
    match subject {
        Subject::Car(car) => hidden.push(("car", car.to_string())),
        Subject::Component(component) => {
            hidden.push(("part", component.part.to_string()));
            hidden.push(("serial", component.serial.to_string()));
        }
    }
    let command = typed
        .fields
        .map_or_else(new_command, |f| f.text("command").to_owned());
    hidden.push(("command", command));
    if let Some(wrong) = corrects {
        hidden.push(("corrects", wrong.0.to_string()));
    }
    if let Some(foreseen) = &typed.consequences {
        hidden.push(("foreseen", foreseen.seal.clone()));
    }
    let tester_field = TestField {
        value: tester.to_owned(),
        ..field("tester", "Tester", "").needed()
    };
    let label = "The number on its calibration label.";
    let without = "Without it the test does not count.";
    let now = "Empty for now; else depot time, as 2026-03-31 10:15.";
    let mut fields = vec![
        field("id", "Identity of the record", "As it stands on the sheet.").needed(),
        tester_field,
        field("instrument", "Instrument", label).needed(),
        field("calibrated_until", "Calibrated until", without),
        field("at", "When", now),
    ];
    if corrects.is_some() {
        fields.push(field("reason", "Why was the record wrong?", "").needed());
    }
    let measured = procedure.measurands.iter().enumerate();
    let mut values: Vec<TestField> = measured
        .map(|(place, measurand)| field(&value_name(place), &name(measurand), &limits(measurand)))
        .collect();
    for field in fields.iter_mut().chain(&mut values) {
        if let Some(sent) = typed.fields {
            sent.text(&field.name).clone_into(&mut field.value);
        }
        field.error = typed.errors.of(&field.name).cloned();
    }
    TestForm {
        procedure: Arc::clone(procedure),
        hidden,
        fields,
        values,
        again: typed.refusal.is_some() || !typed.errors.is_empty(),
        refusal: typed.refusal,
        consequences: typed.consequences,
        outcome: typed.outcome,
    }
}

fn value_name(place: usize) -> String {
    format!("value_{place}")
}

/// A field that may be left empty.
fn field(name: &str, label: &str, hint: &str) -> TestField {
    TestField {
        name: name.to_owned(),
        label: label.to_owned(),
        hint: hint.to_owned(),
        value: String::new(),
        error: None,
        required: false,
    }
}

impl TestField {
    fn needed(mut self) -> Self {
        self.required = true;
        self
    }
}

/// Reads the record from what was typed.
pub(super) fn read(
    fields: &Fields,
    (procedure, subject): (&Procedure, &Subject),
    state: &WebState,
) -> Result<TestRecord, FieldErrors> {
    let mut errors = FieldErrors::default();
    let id = fields.required("id", &mut errors);
    let tester = fields.required("tester", &mut errors);
    let number = fields.required("instrument", &mut errors);
    let calibrated_until = fields.day("calibrated_until", &mut errors);
    let at = fields.moment("at", (&state.zone, state.now()), &mut errors);
    let mut values = Vec::new();
    for (place, measurand) in procedure.measurands.iter().enumerate() {
        let value = fields.optional(&value_name(place), &mut errors);
        values.extend(value.map(|value| MeasuredValue {
            measurand: measurand.name.clone(),
            load: measurand.load,
            value,
        }));
    }
    match (id, tester, number, at) {
        (Some(id), Some(tester), Some(number), Some(at)) if errors.is_empty() => Ok(TestRecord {
            id,
            subject: subject.clone(),
            procedure: procedure.code.clone(),
            revision: procedure.revision.clone(),
            at,
            tester,
            instrument: Instrument {
                number,
                calibrated_until,
            },
            values,
        }),
        _ => Err(errors),
    }
}
