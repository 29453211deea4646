//! The start page: leads each role to its question.

use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::State;
use domain::due::place::WorkPlace;
use domain::due::state::State as DueState;
use domain::people::Role;
use store::StoreError;
use store::read::View;
use store::read::cars::FleetAtDepot;
use store::read::due::DueFilter;

/// Counts on the start page stop here: it is a way in, not a report.
const COUNT_MAX: usize = 999;

#[derive(Template)]
#[template(path = "start/start.html")]
struct StartPage {
    frame: Frame,
    cards: Vec<Card>,
    fleets: Vec<FleetAtDepot>,
    /// Evidence holds in force.
    held: usize,
}

/// The question of a role, and where it is answered.
struct Card {
    role: Role,
    /// Whether it is a role of whoever reads the page.
    own: bool,
    asks: &'static str,
    told: String,
    href: &'static str,
}

/// What the cards tell of now.
struct Counts {
    cut_outs: usize,
    overdue_on_cars: String,
    overdue_off_cars: String,
    unknown: String,
    entries: i64,
}

impl Counts {
    /// Four statements.
    async fn read(view: &mut View, state: &WebState) -> Result<Self, StoreError> {
        let filter = |due, place| DueFilter {
            state: Some(due),
            place,
            ..DueFilter::all(state.today())
        };
        let on_cars = filter(DueState::Overdue, Some(WorkPlace::OnCars));
        let off_cars = filter(DueState::Overdue, Some(WorkPlace::OffCars));
        let unknown = filter(DueState::Unknown, None);
        Ok(Self {
            cut_outs: view.isolations_in_force().await?.len(),
            overdue_on_cars: shown(view.due_count(&on_cars, COUNT_MAX).await?),
            overdue_off_cars: shown(view.due_count(&off_cars, COUNT_MAX).await?),
            unknown: shown(view.due_count(&unknown, COUNT_MAX).await?),
            entries: view.last_entry,
        })
    }

    /// What a role asks, what is told of it here, and where it is answered.
    fn card(&self, role: Role) -> (&'static str, String, &'static str) {
        match role {
            Role::Controller => (
                "May this train run?",
                format!(
                    "{} in force. Brake percentage, stopping distance and verdict for a train, as \
                     it stands or as a what-if.",
                    match self.cut_outs {
                        1 => "1 cut-out".to_owned(),
                        many => format!("{many} cut-outs"),
                    }
                ),
                "/isolations",
            ),
            Role::Planner => (
                "What is due, and when?",
                format!(
                    "{} overdue on cars, {} in stores and workshops. Of {} it cannot be told for \
                     certain, for want of a fact.",
                    self.overdue_on_cars, self.overdue_off_cars, self.unknown
                ),
                "/due?state=overdue&place=on_cars",
            ),
            Role::Stores => (
                "Which serial is where?",
                "Scan a component: what it is, where it belongs, what it has run.".to_owned(),
                "/components",
            ),
            Role::Technician => (
                "What belongs here, and what must I test?",
                "Find a car and its positions; record what was fitted, removed, read and tested."
                    .to_owned(),
                "/cars",
            ),
            Role::BrakeEngineer => (
                "What does a cut-out take away?",
                "The circuit of each car type answers, cock by cock.".to_owned(),
                "/trains",
            ),
            Role::Auditor => (
                "Who recorded what, when?",
                format!("{} entries, chained.", self.entries),
                "/ledger",
            ),
            Role::Administrator => (
                "Who may do what?",
                "Accounts, their roles, and who signs in how.".to_owned(),
                "/accounts",
            ),
        }
    }

    /// The cards, those of the reader's own roles first. Accounts are shown to those who keep them.
    fn cards(&self, frame: &Frame) -> Vec<Card> {
        let shown = |role: &&Role| **role != Role::Administrator || frame.holds(&[**role]);
        let card = |role: &Role| {
            let (asks, told, href) = self.card(*role);
            Card {
                role: *role,
                own: frame.holds(&[*role]),
                asks,
                told,
                href,
            }
        };
        let mut cards: Vec<Card> = ORDER.iter().filter(shown).map(card).collect();
        cards.sort_by_key(|card| !card.own);
        cards
    }
}

/// The order of the cards for whoever holds no role: what is asked most often first.
const ORDER: [Role; 7] = [
    Role::Controller,
    Role::Planner,
    Role::Stores,
    Role::Technician,
    Role::BrakeEngineer,
    Role::Auditor,
    Role::Administrator,
];

/// A count that says when it stopped counting.
fn shown(count: i64) -> String {
    let most = i64::try_from(COUNT_MAX).unwrap_or(i64::MAX);
    if most < count {
        format!("more than {most}")
    } else {
        count.to_string()
    }
}

/// `GET /`
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    let mut view = state.store.view().await?;
    let counts = Counts::read(&mut view, &state).await?;
    let frame = Frame::new(&state, &signed_in);
    page(&StartPage {
        cards: counts.cards(&frame),
        frame,
        fleets: view.fleets().await?,
        held: view.holds.holds.len(),
    })
}
