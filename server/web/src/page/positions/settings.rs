//! The settings of a position: what is asked for, what is told of it at a time, and the form that
//! records one.

use super::forms::answered;
use super::position::position_ref;
use crate::address;
use crate::as_at::{AsAtQuery, Speaks};
use crate::entry_form::{Asked, EntryForm, Field, Tried};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::respond::PageResult;
use crate::state::WebState;
use axum::extract::{Path, State};
use domain::configuration::car_type::Position;
use domain::configuration::component::PositionRef;
use domain::configuration::setting::{
    Setting, SettingAt, SettingHow, SettingMade, SettingRecord, SettingStanding,
};
use domain::identity::CarNumber;
use domain::ledger::dossier::CarRecord;
use domain::ledger::fact::Fact;
use domain::time::Zone;
use store::read::View;
use store::read::settings::{Places, settings_at};

/// The settings of a position as its page shows them.
pub(crate) struct SettingsShown {
    /// What is asked for by the revision in force then, and what is told of it.
    pub(crate) rows: Vec<SettingRow>,
    /// The revision.
    pub(crate) revision: String,
    /// All that was made here by then, newest first.
    pub(crate) made: Vec<SettingRecord>,
    /// Whether they are of now.
    is_now: bool,
    /// What can be set now.
    asked: Vec<Setting>,
}

/// A setting with what is told of it.
pub(crate) struct SettingRow {
    pub(crate) at: PositionRef,
    pub(crate) name: String,
    pub(crate) wanted: String,
    pub(crate) allowed: String,
    /// How it stands, as a style and in words.
    pub(crate) standing: (&'static str, String),
    /// What is told of it.
    pub(crate) told: Option<SettingRecord>,
}

impl SettingsShown {
    /// Reads them at the times of a page's address. One statement, and none where no setting is
    /// asked for.
    pub(crate) async fn read(
        view: &mut View,
        (car, at): (&CarRecord, &PositionRef),
        (query, state): (&AsAtQuery, &WebState),
    ) -> Result<Self, Failure> {
        let speaks = query.read(state)?;
        let places = |view: &View, on| {
            let places = view.documents.places_with_settings(&car.car, on);
            let here = places.into_iter().filter(|place| place.code == at.position);
            here.collect::<Vec<_>>()
        };
        let on = state.zone.day_of(speaks.times.effective);
        let then = places(view, on);
        let now = places(view, state.today());
        let made = view.places_with_settings(car, &then, speaks.times).await?;
        let rows = SettingRow::all(&car.car.number, (&then, &made), (&speaks, &state.zone));
        let made = made.into_values().flat_map(|place| place.made).rev();
        Ok(Self {
            rows,
            revision: view.documents.revision(&car.car, on).to_string(),
            made: made.collect(),
            is_now: speaks.past.is_none(),
            asked: now.into_iter().flat_map(|place| place.settings).collect(),
        })
    }

    /// Whether there is anything to show.
    pub(crate) fn is_empty(&self) -> bool {
        self.rows.is_empty() && self.asked.is_empty()
    }

    /// The form that records a setting, if one is asked for here.
    pub(super) fn form(&self, at: &PositionRef, tried: Option<&Tried>) -> Option<EntryForm> {
        if self.asked.is_empty() || !self.is_now {
            return None;
        }
        let names = self.asked.iter().map(|one| {
            let name = one.name().to_string();
            let words = format!("{name}: {}, {} wanted", one.allowed(), one.wanted());
            (name, words)
        });
        let form = EntryForm::new("set", &address::position(at), "Record a setting")
            .button("Record the setting")
            .ask(Field::one_of("setting", "Setting", names))
            .ask(Field::one_of("how", "How it is known", [
                ("made".to_owned(), "somebody set it so".to_owned()),
                ("found".to_owned(), "it was found so".to_owned()),
            ]))
            .ask(
                Field::text("value", "Set to")
                    .hint("As it was set or found: a number with its unit, a word, or revision and its text, as 8.5 bar, upright or revision 2.4. Who sets it otherwise than wanted says why in the note. What was found is recorded as found, whatever it is.")
                    .required()
                    .suggest(self.asked.iter().map(|one| one.wanted().to_string())),
            );
        Some(form.finish(tried))
    }
}

impl SettingRow {
    /// What is told of the settings that places of a car are asked for.
    pub(crate) fn all(
        car: &CarNumber,
        (asked, places): (&[Position], &Places),
        (speaks, zone): (&Speaks, &Zone),
    ) -> Vec<Self> {
        let told = settings_at(asked, places, speaks.times.effective);
        told.iter().map(|one| Self::new(one, car, zone)).collect()
    }

    /// What is told of one.
    pub(crate) fn new(one: &SettingAt, car: &CarNumber, zone: &Zone) -> Self {
        let standing = match one.standing() {
            SettingStanding::AsWanted(_) => ("as-wanted", "as wanted".to_owned()),
            SettingStanding::Deviates(_) => {
                ("deviates", "setting deviates: not as wanted".to_owned())
            }
            SettingStanding::OutOfRange(_) => (
                "deviates",
                "setting out of range: not as allowed".to_owned(),
            ),
            SettingStanding::NotTold if one.is_vacant() => {
                ("not-told", "nothing is here to be set".to_owned())
            }
            SettingStanding::NotTold => {
                let since = one.place.changed.map(|changed| zone.show(changed));
                let since =
                    since.map(|since| format!("not told since what is here came on {since}"));
                ("not-told", since.unwrap_or_else(|| "not told".to_owned()))
            }
        };
        Self {
            at: PositionRef {
                car: car.clone(),
                position: one.position.clone(),
            },
            name: one.setting.name().to_string(),
            wanted: one.setting.wanted().to_string(),
            allowed: one.setting.allowed(),
            standing,
            told: one.told.clone(),
        }
    }
}

fn asked_set(fields: &Fields, at: &PositionRef, now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let setting = fields.required("setting", &mut errors);
    let value = fields.required("value", &mut errors);
    let how = match fields.text("how") {
        "" => Some(SettingHow::Made),
        _ => fields.required("how", &mut errors),
    };
    let moment = fields.moment("at", now, &mut errors);
    match (setting, value, how, moment) {
        (Some(setting), Some(value), Some(how), Some(moment)) => {
            let made = SettingMade {
                at: at.clone(),
                setting,
                value,
                how,
            };
            Ok((Fact::SettingMade(made), moment))
        }
        _ => Err(errors),
    }
}

/// `POST /positions/{car}/{code}/set`
pub(crate) async fn set(
    State(state): State<WebState>,
    Path((car, code)): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    let at = position_ref(&car, &code)?;
    let asks = |now: Now<'_>| asked_set(&submitted.fields, &at, now);
    answered(&state, &submitted, &at, ("set", &asks)).await
}
