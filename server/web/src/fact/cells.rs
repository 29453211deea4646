//! The table that a fact is told in.

use crate::address;
use domain::configuration::component::{ComponentRef, PositionRef, Subject};
use domain::configuration::host::HostPosition;
use domain::identity::CarNumber;
use domain::time::{Instant, Zone};
use std::fmt::Display;

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct FactRow {
    /// What it is.
    pub(crate) what: String,
    /// Its value with its unit.
    pub(crate) value: String,
    /// The page of what it names.
    pub(crate) link: Option<String>,
}

pub(super) struct Rows<'a> {
    pub(super) rows: Vec<FactRow>,
    pub(super) zone: &'a Zone,
}

impl Rows<'_> {
    pub(super) fn put(&mut self, what: &str, value: impl Display, link: Option<String>) {
        let (what, value) = (what.to_owned(), value.to_string());
        self.rows.push(FactRow { what, value, link });
    }

    pub(super) fn text(&mut self, what: &str, value: impl Display) {
        self.put(what, value, None);
    }

    pub(super) fn maybe(&mut self, what: &str, value: Option<impl Display>) {
        match value {
            Some(value) => self.text(what, value),
            None => self.text(what, "not stated"),
        }
    }

    pub(super) fn linked(&mut self, what: &str, value: impl Display, link: String) {
        self.put(what, value, Some(link));
    }

    pub(super) fn revision(&mut self, what: &str, name: impl Display, revision: impl Display) {
        self.text(what, format!("{name}, revision {revision}"));
    }

    pub(super) fn moment(&mut self, what: &str, at: Instant) {
        let shown = self.zone.show(at);
        self.text(what, shown);
    }

    pub(super) fn car(&mut self, number: &CarNumber) {
        self.linked("car", number, address::car(number));
    }

    pub(super) fn component(&mut self, what: &str, component: &ComponentRef) {
        self.linked(what, component, address::component(component));
    }

    pub(super) fn position(&mut self, what: &str, at: &PositionRef) {
        self.linked(what, at, address::position(at));
    }

    pub(super) fn place(&mut self, what: &str, at: &HostPosition) {
        self.linked(what, at, address::place(at));
    }

    pub(super) fn subject(&mut self, subject: &Subject) {
        self.linked("done on", subject, address::subject(subject));
    }
}
