//! The two times that a page can speak of, read from its address.

use crate::misread::Misread;
use crate::state::WebState;
use domain::time::Instant;
use domain::unreadable::Unreadable;
use serde::Deserialize;
use store::read::AsAt;

/// `?at=…&known=…`; empty is now.
#[derive(Debug, Default, Clone, Deserialize)]
pub(crate) struct AsAtQuery {
    #[serde(default)]
    pub(crate) at: String,
    #[serde(default)]
    pub(crate) known: String,
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

impl AsAtQuery {
    /// Reads both times. A time after now cannot be told.
    pub(crate) fn read(&self, state: &WebState) -> Result<Speaks, Misread> {
        let now = state.now();
        let effective = moment(("at", &self.at), now, state)?;
        let known = moment(("known", &self.known), now, state)?;
        let past = (effective.is_some() || known.is_some()).then(|| Past {
            effective: state.zone.show(effective.unwrap_or(now)),
            known: known.map(|known| state.zone.show(known)),
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
    let moment = text.parse().or_else(|_| state.zone.local(text));
    let moment = moment.map_err(|why| Misread(field, why))?;
    if now < moment {
        let expected = format!("a time not after now, {}", state.zone.show(now));
        return Err(Misread(field, Unreadable::new("time", text, expected)));
    }
    Ok(Some(moment))
}
