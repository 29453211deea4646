//! Which cars carry what: the question as an address asks it, for pages and for programs.

use crate::address;
use crate::as_at::{AsAtQuery, Speaks};
use crate::limits::SEARCH_CHARS_MAX;
use crate::misread::{Misread, field};
use crate::not_there::NotThere;
use crate::state::WebState;
use domain::configuration::component::PositionRef;
use domain::configuration::looked_for::{BatchSought, LookedFor, SettingSought, StateSought};
use domain::unreadable::Unreadable;
use serde::Deserialize;
use store::read::View;
use store::read::carrying::{CARRYING_PAGE, CarryingFilter};
use utoipa::{IntoParams, ToSchema};

/// What is looked for, of which times it is told, and where a page begins.
#[derive(Debug, Default, Clone, Deserialize, IntoParams)]
#[serde(default, deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct CarryingQuery {
    /// What is asked for: a part or serial numbers of it where left out.
    #[param(inline)]
    pub(crate) ask: Ask,
    /// The part. Needed, except where a setting is asked for.
    pub(crate) part: String,
    /// Of a part: how its serial numbers begin; any where left out.
    pub(crate) serial: String,
    /// Of a part: the batch, whatever case, blanks and hyphens it is written with; only where a batch
    /// is asked for.
    #[param(example = "L24-07")]
    pub(crate) batch: String,
    /// Of a part: the modification state.
    pub(crate) state: String,
    /// The setting.
    #[param(example = "opening pressure")]
    pub(crate) setting: String,
    /// Of a setting: the code or another name of the position; any where left out.
    pub(crate) position: String,
    /// Of a batch, a state or a setting: whether it is the one given, or not told. A setting may also
    /// deviate from the value that the baseline wants.
    #[param(inline)]
    pub(crate) standing: Standing,
    /// Of a setting: the value it is set to.
    #[param(example = "8.5 bar")]
    pub(crate) value: String,
    /// How it was in the world at this time, with its offset from UTC; now where left out.
    #[param(format = DateTime)]
    pub(crate) at: String,
    /// As the register knew it at this time, with its offset from UTC; now where left out.
    #[param(format = DateTime)]
    pub(crate) known: String,
    /// The car after which a page begins.
    pub(crate) after_car: String,
    /// The position of that car after which it begins.
    pub(crate) after_position: String,
}

/// What is asked for.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Ask {
    /// A part, or serial numbers of it that begin alike.
    #[default]
    Serials,
    /// Components of a part by the batch that their receipt names.
    Batch,
    /// Components of a part by their modification state.
    State,
    /// Positions by a setting.
    Setting,
}

impl Ask {
    pub(crate) const ALL: [Self; 4] = [Self::Serials, Self::Batch, Self::State, Self::Setting];

    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Serials => "serials",
            Self::Batch => "batch",
            Self::State => "state",
            Self::Setting => "setting",
        }
    }

    pub(crate) fn title(self) -> &'static str {
        match self {
            Self::Serials => "A part, or serial numbers that begin alike",
            Self::Batch => "A batch",
            Self::State => "A modification state",
            Self::Setting => "A setting",
        }
    }
}

/// How a batch, a state or a setting stands with what is asked.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Standing {
    /// It is the one given.
    #[default]
    Is,
    /// A setting that is not as the baseline in force on the day wants it.
    Deviates,
    /// It is not known.
    NotTold,
}

impl Standing {
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Is => "is",
            Self::Deviates => "deviates",
            Self::NotTold => "not_told",
        }
    }
}

/// Refuses a question about what nothing in the register ever was, or about a time when no car was in it:
/// that no car carries it would be no answer. One statement where a batch or serial numbers are asked
/// for, two more of a past time.
pub(crate) async fn is_known(
    view: &mut View,
    (asked, filter): (&CarryingQuery, &CarryingFilter),
) -> Result<(), NotThere> {
    refuse_without_cars(view, (asked, filter)).await?;
    let looked_for = &filter.looked_for;
    if let Some((field, why)) = view.documents.not_designed(looked_for) {
        return Err(NotThere::Field(field, why));
    }
    let known = filter.as_at.known;
    let (field, given, known, expected) = match looked_for {
        LookedFor::Batch {
            part,
            batch: BatchSought::Is(batch),
        } => (
            "batch",
            batch.as_str(),
            view.knows_batch(part, batch, known).await,
            format!("a batch of part {part}; no component of it has ever borne this one"),
        ),
        LookedFor::Serials { part, begins } if !begins.is_empty() => (
            "serial",
            begins.as_str(),
            view.knows_serials(part, begins, known).await,
            format!(
                "how a serial number of part {part} begins; no component of it has ever borne one \
                 that begins so"
            ),
        ),
        _ => return Ok(()),
    };
    if known.map_err(NotThere::Store)? {
        return Ok(());
    }
    Err(NotThere::Field(
        field,
        Unreadable::new(field, given, expected),
    ))
}

/// Refuses a time when no car was in the register.
async fn refuse_without_cars(
    view: &mut View,
    (asked, filter): (&CarryingQuery, &CarryingFilter),
) -> Result<(), NotThere> {
    let Some((field, text)) = asked.times().given().next() else {
        return Ok(());
    };
    let had_cars = view.had_cars(filter.as_at).await;
    if had_cars.map_err(NotThere::Store)? {
        return Ok(());
    }
    let expected = "a time when a car was in the register; of earlier ones it has nothing to tell";
    let why = Unreadable::new("time", &text, expected);
    Err(NotThere::Field(field, why))
}

impl From<&LookedFor> for CarryingQuery {
    /// The same question as of now.
    fn from(looked_for: &LookedFor) -> Self {
        let asked = Self::default();
        match looked_for.clone() {
            LookedFor::Serials { part, begins } => Self {
                part: part.to_string(),
                serial: begins,
                ..asked
            },
            LookedFor::Batch { part, batch } => Self {
                ask: Ask::Batch,
                part: part.to_string(),
                standing: match batch {
                    BatchSought::Is(_) => Standing::Is,
                    BatchSought::NotKnown => Standing::NotTold,
                },
                batch: match batch {
                    BatchSought::Is(batch) => batch.to_string(),
                    BatchSought::NotKnown => String::new(),
                },
                ..asked
            },
            LookedFor::State { part, state } => Self {
                ask: Ask::State,
                part: part.to_string(),
                standing: match state {
                    StateSought::Is(_) => Standing::Is,
                    StateSought::NotKnown => Standing::NotTold,
                },
                state: match state {
                    StateSought::Is(state) => state.to_string(),
                    StateSought::NotKnown => String::new(),
                },
                ..asked
            },
            LookedFor::Setting {
                setting,
                place,
                sought,
            } => Self {
                ask: Ask::Setting,
                setting: setting.to_string(),
                position: place,
                standing: match sought {
                    SettingSought::To(_) => Standing::Is,
                    SettingSought::Deviates => Standing::Deviates,
                    SettingSought::NotTold => Standing::NotTold,
                },
                value: match sought {
                    SettingSought::To(value) => value.to_string(),
                    SettingSought::Deviates | SettingSought::NotTold => String::new(),
                },
                ..asked
            },
        }
    }
}

impl CarryingQuery {
    /// What is looked for; none where nothing is asked yet.
    fn looked_for(&self) -> Result<Option<LookedFor>, Misread> {
        if self.ask != Ask::Batch && !self.batch.trim().is_empty() {
            let expected = "nothing unless a batch is asked for";
            return Err(Misread(
                "batch",
                Unreadable::new("batch", &self.batch, expected),
            ));
        }
        let main = match self.ask {
            Ask::Serials | Ask::Batch | Ask::State => &self.part,
            Ask::Setting => &self.setting,
        };
        if main.trim().is_empty() {
            return Ok(None);
        }
        let cut = |text: &str| text.trim().chars().take(SEARCH_CHARS_MAX).collect();
        let looked_for = match self.ask {
            Ask::Serials => LookedFor::Serials {
                part: field("part", &self.part)?,
                begins: cut(&self.serial),
            },
            Ask::Batch => LookedFor::Batch {
                part: field("part", &self.part)?,
                batch: match self.standing {
                    Standing::Is => BatchSought::Is(field("batch", &self.batch)?),
                    Standing::NotTold => BatchSought::NotKnown,
                    Standing::Deviates => return Err(does_not_deviate("a batch")),
                },
            },
            Ask::State => LookedFor::State {
                part: field("part", &self.part)?,
                state: match self.standing {
                    Standing::Is => StateSought::Is(field("state", &self.state)?),
                    Standing::NotTold => StateSought::NotKnown,
                    Standing::Deviates => return Err(does_not_deviate("a modification state")),
                },
            },
            Ask::Setting => LookedFor::Setting {
                setting: field("setting", &self.setting)?,
                place: cut(&self.position),
                sought: match self.standing {
                    Standing::Is => SettingSought::To(field("value", &self.value)?),
                    Standing::Deviates => SettingSought::Deviates,
                    Standing::NotTold => SettingSought::NotTold,
                },
            },
        };
        Ok(Some(looked_for))
    }

    /// What is to be read, and of which times it speaks; none where nothing is asked yet.
    pub(crate) fn filter(
        &self,
        state: &WebState,
    ) -> Result<Option<(CarryingFilter, Speaks)>, Misread> {
        let Some(looked_for) = self.looked_for()? else {
            return Ok(None);
        };
        let speaks = self.times().read(state)?;
        let after = match self.after_car.as_str() {
            "" => None,
            car => Some(PositionRef {
                car: field("after_car", car)?,
                position: field("after_position", &self.after_position)?,
            }),
        };
        let filter = CarryingFilter {
            looked_for,
            as_at: speaks.times,
            after,
            rows: CARRYING_PAGE,
        };
        Ok(Some((filter, speaks)))
    }

    fn times(&self) -> AsAtQuery {
        AsAtQuery {
            at: self.at.clone(),
            known: self.known.clone(),
        }
    }

    /// The address at which the same is asked, after a place.
    pub(crate) fn address(&self, path: &str, after: Option<&PositionRef>) -> String {
        let asks = match self.ask {
            Ask::Serials => "",
            ask => ask.name(),
        };
        let standing = match self.standing {
            Standing::Is => "",
            standing => standing.name(),
        };
        let fields = [
            ("ask", asks),
            ("part", self.part.as_str()),
            ("serial", self.serial.as_str()),
            ("batch", self.batch.as_str()),
            ("state", self.state.as_str()),
            ("setting", self.setting.as_str()),
            ("position", self.position.as_str()),
            ("standing", standing),
            ("value", self.value.as_str()),
            ("at", self.at.as_str()),
            ("known", self.known.as_str()),
            ("after_car", after.map_or("", |at| at.car.as_str())),
            (
                "after_position",
                after.map_or("", |at| at.position.as_str()),
            ),
        ];
        address::with_query(path, fields)
    }

    /// The same question of what is not told.
    pub(crate) fn untold(&self) -> Self {
        Self {
            batch: String::new(),
            state: String::new(),
            value: String::new(),
            standing: Standing::NotTold,
            ..self.clone()
        }
    }

    /// Of which times it is told, in words to follow what is looked for.
    pub(crate) fn times_in_words(&self) -> String {
        let times = [("as at", &self.at), ("as known at", &self.known)];
        let told = times
            .into_iter()
            .filter(|(_, value)| !value.trim().is_empty());
        let told = told.map(|(what, value)| format!(", {what} {}", value.trim()));
        told.collect::<Vec<_>>().concat()
    }
}

fn does_not_deviate(what: &str) -> Misread {
    let expected = format!("is or not_told where {what} is asked for");
    Misread(
        "standing",
        Unreadable::new("standing", "deviates", expected),
    )
}
