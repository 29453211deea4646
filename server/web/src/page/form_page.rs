//! A page that is one form.

use crate::entry_form::EntryForm;
use crate::frame::Frame;
use crate::holds::HoldNote;
use askama::Template;

/// The page.
#[derive(Template)]
#[template(path = "form/page.html")]
pub(crate) struct FormPage {
    pub(crate) frame: Frame,
    pub(crate) title: String,
    /// Where to go back to, with its name.
    pub(crate) back: (String, String),
    /// What is to be said before the form.
    pub(crate) notes: Vec<String>,
    /// Evidence holds on what the form acts on.
    pub(crate) holds: Vec<HoldNote>,
    /// The form, for those who may send it.
    pub(crate) form: Option<EntryForm>,
    /// Where something that the form needs is entered, with its name.
    pub(crate) further: Vec<(String, String)>,
}
