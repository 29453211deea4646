//! The two times that a page can speak of, read from its address.

use crate::address::with_query;
use crate::misread::Misread;
use crate::state::WebState;
use domain::time::Instant;
use domain::unreadable::Unreadable;
use futures_util::FutureExt;
use serde::Deserialize;
use store::StoreError;
use store::read::{AsAt, View};
use utoipa::IntoParams;

/// `?at=…&known=…`; empty is now.
#[derive(Debug, Default, Clone, Deserialize)]
pub(crate) struct AsAtQuery {
    #[serde(default)]
    pub(crate) at: String,
    #[serde(default)]
    pub(crate) known: String,
}

/// Of which times an answer speaks; now where left out.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(default, deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct AsAtParams {
    /// As it was in the world at this time, with its offset from UTC.
    #[param(format = DateTime)]
    at: String,
    /// As the register knew it at this time, with its offset from UTC.
    #[param(format = DateTime)]
    known: String,
}

impl AsAtParams {
    /// Reads both times, as a page does.
    pub(crate) fn read(self, state: &WebState) -> Result<Speaks, Misread> {
        let Self { at, known } = self;
        AsAtQuery { at, known }.read(state)
    }
}

/// Of which time a page speaks.
#[derive(Debug, Clone)]
pub(crate) struct Speaks {
    /// The times to look up.
    pub(crate) times: AsAt,
    /// Where the page does not speak of now: of which times, in words.
    pub(crate) past: Option<Past>,
}

/// The times of a page that speaks of the past.
#[derive(Debug, Clone)]
pub(crate) struct Past {
    /// When it was so in the world.
    pub(crate) effective: String,
    /// By what the register knew then; none where by what it knows now.
    pub(crate) known: Option<String>,
}

/// Of which time a page speaks, with what its parts about that say.
#[derive(Debug)]
pub(crate) struct PageSpeaks {
    pub(crate) past: Option<Past>,
    /// The times as typed.
    pub(crate) query: AsAtQuery,
    /// What the page tells, in words.
    pub(crate) what: &'static str,
    /// What on it is of now all the same.
    pub(crate) of_now: &'static str,
    /// The page as of now.
    pub(crate) path: String,
    /// What is asked beside the times, for the form that asks for others.
    pub(crate) kept: Vec<(&'static str, String)>,
}

impl PageSpeaks {
    pub(crate) fn new(
        (query, speaks): (&AsAtQuery, &Speaks),
        path: String,
        (what, of_now): (&'static str, &'static str),
    ) -> Self {
        Self {
            past: speaks.past.clone(),
            query: query.clone(),
            what,
            of_now,
            path,
            kept: Vec::new(),
        }
    }

    /// Where the form for another time sends: what the address of the page asks it keeps in its fields.
    pub(crate) fn action(&self) -> &str {
        let parts = self.path.split_once('?');
        parts.map_or(self.path.as_str(), |(path, _)| path)
    }

    /// The same with what the form asks along with other times.
    pub(crate) fn keeping(self, kept: Vec<(&'static str, String)>) -> Self {
        Self { kept, ..self }
    }

    /// The address of another page that speaks of the same times.
    pub(crate) fn at_same(&self, path: &str) -> String {
        let AsAtQuery { at, known } = &self.query;
        with_query(path, [("at", at.as_str()), ("known", known.as_str())])
    }
}

impl Speaks {
    /// Of now.
    pub(crate) fn now(now: Instant) -> Self {
        let times = AsAt {
            effective: now,
            known: now,
        };
        Self { times, past: None }
    }

    /// The register, with the design data that was known at the time told of.
    pub(crate) async fn view(&self, state: &WebState) -> Result<View, StoreError> {
        match self.then() {
            None => state.store.view().await,
            // Boxed, as many handlers wait for it: the compiler goes through it once.
            Some(as_at) => state.store.view_known(as_at.known).boxed().await,
        }
    }

    /// The times to look up where they are not now.
    pub(crate) fn then(&self) -> Option<AsAt> {
        self.past.is_some().then_some(self.times)
    }
}

impl AsAtQuery {
    /// Takes both times out of an address that asks for more; one that stands twice is left in it, for
    /// whoever reads the rest to refuse.
    pub(crate) fn take(query: &mut Vec<(String, String)>) -> Self {
        let mut times = Self::default();
        query.retain(|(name, value)| {
            let time = match name.as_str() {
                "at" => &mut times.at,
                "known" => &mut times.known,
                _ => return true,
            };
            if !time.is_empty() {
                return true;
            }
            time.clone_from(value);
            false
        });
        times
    }

    /// Both times with the names of their fields, each where it was given.
    pub(crate) fn given(&self) -> impl Iterator<Item = (&'static str, String)> {
        let both = [("at", self.at.trim()), ("known", self.known.trim())];
        let given = both.into_iter().filter(|(_, text)| !text.is_empty());
        given.map(|(name, text)| (name, text.to_owned()))
    }

    /// Refuses both times, with what was expected, where a page tells of now alone: it would be
    /// taken for one of then.
    pub(crate) fn refuse_other_times(&self, expected: &str) -> Result<(), Unreadable> {
        for (field, text) in [("at", self.at.trim()), ("known", self.known.trim())] {
            if !text.is_empty() {
                return Err(Unreadable::new(field, text, expected));
            }
        }
        Ok(())
    }

    /// Reads both times. A time after now cannot be told.
    pub(crate) fn read(&self, state: &WebState) -> Result<Speaks, Misread> {
        let now = state.now();
        let effective = moment(("at", &self.at), now, state)?;
        let known = moment(("known", &self.known), now, state)?;
        let past = (effective.is_some() || known.is_some()).then(|| Past {
            effective: match effective {
                Some(at) => state.zone.told(at),
                None => state.zone.show(now),
            },
            known: known.map(|known| state.zone.exact(known)),
        });
        let times = AsAt {
            effective: effective.unwrap_or(now),
            known: known.unwrap_or(now),
        };
        Ok(Speaks { times, past })
    }
}

fn moment(
    (field, text): (&'static str, &str),
    now: Instant,
    state: &WebState,
) -> Result<Option<Instant>, Misread> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let moment = state.zone.moment(text);
    let moment = moment.map_err(|why| Misread(field, why))?;
    if now < moment {
        let expected = format!("a time not after now, {}", state.zone.told(now));
        return Err(Misread(field, Unreadable::new("time", text, expected)));
    }
    Ok(Some(moment))
}
