//! Departures from baselines, as lists and programs ask for them and tell of them.

mod source;

pub(crate) use source::Source;

use crate::address::with_query;
use crate::as_at::{AsAtQuery, Speaks};
use crate::form::{FieldErrors, Fields};
use crate::misread::Misread;
use crate::state::WebState;
use domain::configuration::design_compared::states;
use domain::identity::SettingName;
use domain::ledger::departures::{DepartureKind, DepartureStanding};
use domain::ledger::dossier::Documents;
use domain::time::Day;
use domain::unreadable::Unreadable;
use store::StoreError;
use store::read::View;
use store::read::departures::{DepartureCursor, DepartureFilter, DepartureItem};

/// The fields that narrow the list.
const FIELDS: [&str; 10] = [
    "fleet",
    "depot",
    "unit",
    "car",
    "kind",
    "standing",
    "concession",
    "on",
    "at",
    "known",
];

/// A list of departures as asked for.
#[derive(Debug)]
pub(crate) struct DepartureQuery {
    /// The fields as typed.
    pub(crate) fields: Fields,
    /// What they mean, as far as they can be read.
    pub(crate) filter: DepartureFilter,
    /// Of which times it tells.
    pub(crate) speaks: Speaks,
    /// What cannot be read, by field.
    pub(crate) errors: FieldErrors,
}

impl DepartureQuery {
    /// Reads the fields: as on the day of the time told of unless they name another.
    pub(crate) fn read(fields: Fields, state: &WebState) -> Self {
        let mut errors = FieldErrors::default();
        let (at, known) = (
            fields.text("at").to_owned(),
            fields.text("known").to_owned(),
        );
        let speaks = AsAtQuery { at, known }.read(state);
        let speaks = speaks.unwrap_or_else(|Misread(field, why)| {
            errors.add(field, format!("expected {}", why.expected));
            Speaks::now(state.now())
        });
        let today = state.zone.day_of(speaks.times.effective);
        let after = match fields.text("after") {
            "" => None,
            text => cursor(text)
                .map_err(|why| errors.add("after", format!("expected {}", why.expected)))
                .ok(),
        };
        let filter = DepartureFilter {
            fleet: fields.optional("fleet", &mut errors),
            depot: fields.optional("depot", &mut errors),
            unit: fields.optional("unit", &mut errors),
            car: fields.optional("car", &mut errors),
            kind: fields.optional("kind", &mut errors),
            standing: fields.optional("standing", &mut errors),
            concession: fields.optional("concession", &mut errors),
            after,
            ..DepartureFilter::all(fields.day("on", &mut errors).unwrap_or(today))
        };
        Self {
            fields,
            filter,
            speaks,
            errors,
        }
    }

    /// Where nothing was found, notes which fields name what is not in the register: that nothing
    /// departs there would be no answer. A statement only where nothing was found.
    pub(crate) async fn name_missing(
        &mut self,
        view: &mut View,
        found: &[DepartureItem],
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

    /// The address of the same list, from a row on; from the first without one.
    pub(crate) fn page(&self, path: &str, after: Option<&DepartureCursor>) -> String {
        let after = after.map(cursor_text).unwrap_or_default();
        let fields = FIELDS.map(|field| (field, self.fields.text(field)));
        with_query(path, fields.into_iter().chain([("after", &*after)]))
    }

    /// The address of the same place with departures of one kind, or of all.
    pub(crate) fn of_kind(&self, kind: Option<DepartureKind>) -> String {
        let place = FIELDS.iter().filter(|field| **field != "kind");
        let place = place.map(|field| (*field, self.fields.text(field)));
        let kind = kind.map_or("", DepartureKind::name);
        with_query("/departures", place.chain([("kind", kind)]))
    }
}

/// A cursor as text: the number of the car, how it departs, the position and the setting, with dots
/// and an at sign between them; the last two are left out where no setting departs.
pub(crate) fn cursor_text(cursor: &DepartureCursor) -> String {
    let (car, kind, position) = (cursor.car, cursor.kind.name(), &cursor.position);
    match &cursor.setting {
        None => format!("{car}.{kind}.{position}"),
        Some(setting) => format!("{car}.{kind}.{position}@{setting}"),
    }
}

fn cursor(text: &str) -> Result<DepartureCursor, Unreadable> {
    let refuse = || Unreadable::new("after", text, "what the link to the next page has there");
    let (car, rest) = text.split_once('.').ok_or_else(refuse)?;
    let (kind, place) = rest.split_once('.').ok_or_else(refuse)?;
    let (position, setting) = place.split_once('@').unwrap_or((place, ""));
    let setting = Some(setting).filter(|name| !name.is_empty());
    Ok(DepartureCursor {
        car: car.parse().map_err(|_| refuse())?,
        kind: kind.parse().map_err(|_| refuse())?,
        position: position.parse().map_err(|_| refuse())?,
        setting: setting.map(str::parse).transpose().map_err(|_| refuse())?,
    })
}

/// What a departure is measured by.
#[derive(Debug)]
pub(crate) struct Baseline {
    /// The revision in force.
    pub(crate) revision: String,
    /// What the position is called; nothing where the revision has none.
    pub(crate) title: String,
    /// What is approved there, each with the modification states asked for; of a setting, the
    /// value wanted and what is allowed.
    pub(crate) approved: Vec<String>,
}

impl Baseline {
    /// Of a departure on a day. Linear in the positions of the car type.
    pub(crate) fn of(item: &DepartureItem, documents: &Documents, on: Day) -> Self {
        let car = &item.car.car;
        let car_type = documents.car_type(car, on);
        let place = car_type.and_then(|car_type| documents.place(car_type, &item.position));
        let position = place.map(|place| place.position);
        if let Some(name) = &item.setting {
            let setting = position
                .as_ref()
                .and_then(|position| position.setting(name));
            let wanted = setting.map(|one| {
                let (wanted, allowed) = (one.wanted(), one.allowed());
                [format!("{wanted} wanted"), format!("{allowed} allowed")]
            });
            return Self {
                revision: documents.revision(car, on).to_string(),
                approved: wanted.into_iter().flatten().collect(),
                title: position.map_or(String::new(), |position| position.title),
            };
        }
        let approved = position.iter().flat_map(|position| {
            position
                .approved
                .iter()
                .map(|part| match states(&position.states, part).as_str() {
                    "any" => part.to_string(),
                    states => format!("{part} in state {states}"),
                })
        });
        Self {
            revision: documents.revision(car, on).to_string(),
            approved: approved.collect(),
            title: position.map_or(String::new(), |position| position.title),
        }
    }
}

/// The concession of a departure, in words; none where there is none.
pub(crate) fn allowed(item: &DepartureItem, on: Day) -> Option<String> {
    let (number, until) = item.concession.as_ref()?;
    Some(match item.standing(on) {
        DepartureStanding::UnderConcession => format!("concession {number} until {until}"),
        DepartureStanding::Finding => format!("concession {number} ended on {until}"),
    })
}

/// What departs, in words.
pub(crate) fn words(item: &DepartureItem) -> String {
    let setting = || item.setting.as_ref().map_or("it", SettingName::as_str);
    let words = match (item.kind, &item.component) {
        (DepartureKind::Vacant, _) => "something belongs there",
        (DepartureKind::NotApproved, _) => "its part is not approved there",
        (DepartureKind::WrongState, _) => "its modification state is not approved there",
        (DepartureKind::Unknown, None) => "nothing was ever recorded there",
        (DepartureKind::Unknown, Some(_)) => "its modification state is not recorded",
        (DepartureKind::SettingNotTold, Some(_)) => {
            return format!("{} was not recorded since this was fitted", setting());
        }
        (DepartureKind::SettingNotTold, None) => return format!("{} is not recorded", setting()),
        (DepartureKind::Unfit, Some(one)) => return format!("it is {}", one.condition),
        (DepartureKind::Unfit, None) => "it is not serviceable",
        (DepartureKind::Incomplete, _) => {
            "the assembly does not go on a car without what belongs there"
        }
        (DepartureKind::SettingDeviates | DepartureKind::SettingOutOfRange, _) => {
            let set_to = item
                .set_to
                .as_ref()
                .map_or(String::new(), ToString::to_string);
            let beyond = match item.kind {
                DepartureKind::SettingOutOfRange => ", which is not allowed",
                _ => "",
            };
            return format!("{} is set to {set_to}{beyond}", setting());
        }
    };
    words.to_owned()
}
