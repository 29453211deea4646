//! What surrounds every page: who reads it, when it speaks, whether the data are invented.

use crate::address;
use crate::session::SignedIn;
use crate::state::{Mode, WebState};
use domain::people::{APPROVES, Role};

/// The frame of a page.
#[derive(Debug, Clone)]
pub(crate) struct Frame {
    /// Who is signed in.
    pub(crate) person: Option<String>,
    /// Their roles.
    pub(crate) roles: Vec<Role>,
    /// What each form must bring back.
    pub(crate) form_token: String,
    /// The entry that the form before this page recorded: its address and its name.
    pub(crate) recorded: Option<(String, String)>,
    /// The time at which the page speaks.
    pub(crate) as_at: String,
    /// Whether the data are invented.
    pub(crate) demo: bool,
}

impl Frame {
    /// The frame of a page for whoever is signed in.
    pub(crate) fn new(state: &WebState, signed_in: &SignedIn) -> Self {
        let session = signed_in.session.as_ref();
        Self {
            person: session.map(|session| session.actor.name.to_string()),
            roles: session
                .map(|session| session.actor.roles.clone())
                .unwrap_or_default(),
            form_token: session
                .map(|session| session.form_token.clone())
                .unwrap_or_default(),
            recorded: signed_in
                .recorded
                .map(|seq| (address::entry(seq), seq.to_string())),
            as_at: state.zone.show(state.now()),
            demo: state.mode == Mode::Demo,
        }
    }

    /// Whether the person holds one of the roles: forms that would be refused are not shown.
    pub(crate) fn holds(&self, roles: &[Role]) -> bool {
        self.roles.iter().any(|role| roles.contains(role))
    }

    /// Whether the person approves what others propose.
    pub(crate) fn approves(&self) -> bool {
        self.holds(APPROVES)
    }

    /// The address of a file in `static/`.
    #[expect(clippy::unused_self, reason = "templates call methods of the frame")]
    pub(crate) fn asset(&self, name: &str) -> String {
        crate::asset::address(name)
    }
}
