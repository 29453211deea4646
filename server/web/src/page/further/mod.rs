//! Further questions about a train or any formation, each on a page of its own: the drawing of its
//! circuit, what to close, weak points, the path to a position, fault finding, and what reveals a wrong cock. What is
//! supposed in the address of a decision is supposed on these pages too.

mod circuit;
mod closing;
mod faults;
mod file;
pub(crate) mod head;
mod path;
pub(crate) mod posed;
mod revealed;
mod trial;
pub(crate) mod weak_points;
pub(crate) mod words;

use crate::address;
use crate::failure::Failure;
use crate::page::decision::Pairs;
use crate::page::decision::link::QuestionLink;
use crate::page::named_place::{by_codes, extra_by_codes};
use crate::respond::PageResult;
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::{Path, Query, State};
use domain::configuration::car::Vehicle;
use domain::decision::formation::FormationText;
use domain::identity::TrainId;
use file::Kind;
use head::Head;
use posed::{Extra, Posed, pose};
use store::read::View;

/// A page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Further {
    Circuit,
    Closing,
    WeakPoints,
    WeakPointsFile(Kind),
    Path,
    Faults,
    Revealed,
}

impl Further {
    /// The last part of the address of the drawing.
    pub(crate) const CIRCUIT: &'static str = "circuit";

    /// The pages that people choose from, with the last part of their addresses.
    pub(crate) const CHOICES: [(Self, &'static str, &'static str); 6] = [
        (Self::Circuit, Self::CIRCUIT, "Circuit"),
        (Self::Closing, "closing", "What to close"),
        (Self::WeakPoints, "weak-points", "Weak points"),
        (Self::Path, "path", "Path"),
        (Self::Faults, "faults", "Fault finding"),
        (Self::Revealed, "revealed", "What reveals it"),
    ];

    fn read(segment: &str) -> Option<Self> {
        match segment {
            "weak-points.csv" => Some(Self::WeakPointsFile(Kind::Csv)),
            "weak-points.xlsx" => Some(Self::WeakPointsFile(Kind::Xlsx)),
            _ => {
                let mut choices = Self::CHOICES.into_iter();
                choices
                    .find(|(_, name, _)| *name == segment)
                    .map(|(page, ..)| page)
            }
        }
    }
}

fn found(segment: &str) -> Result<Further, Failure> {
    Further::read(segment).ok_or_else(|| Failure::NotFound {
        what: "page",
        name: segment.to_owned(),
    })
}

/// `GET /trains/{train}/{page}`
pub(crate) async fn of_train(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path((train, page)): Path<(String, String)>,
    Query(query): Pairs,
) -> PageResult {
    let further = found(&page)?;
    let id: TrainId = train.parse()?;
    let (mut extra, mut question) = Extra::split(query);
    let mut view = state.store.view().await?;
    by_codes(&mut view, &mut question, state.today()).await?;
    extra_by_codes(&mut view, &mut extra, state.today()).await?;
    let link = QuestionLink::read(address::train(&id), &question)?;
    let known = view.train(&id).await?.ok_or_else(|| Failure::NotFound {
        what: "train",
        name: id.to_string(),
    })?;
    let vehicles = &known.formation.vehicles;
    let asked = (format!("Train {id}"), link, extra);
    show(&state, &signed_in, (&mut view, vehicles), (further, asked)).await
}

/// `GET /decision/{page}?formation=…`
pub(crate) async fn of_formation(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(page): Path<String>,
    Query(query): Pairs,
) -> PageResult {
    let further = found(&page)?;
    let (mut extra, mut question) = Extra::split(query);
    let mut view = state.store.view().await?;
    by_codes(&mut view, &mut question, state.today()).await?;
    extra_by_codes(&mut view, &mut extra, state.today()).await?;
    let link = QuestionLink::read("/decision".to_owned(), &question)?;
    let formation: FormationText = link.formation().unwrap_or_default().parse()?;
    let vehicles = view.vehicles(&formation).await?;
    let vehicles = vehicles?;
    let asked = (format!("Formation {formation}"), link, extra);
    show(&state, &signed_in, (&mut view, &vehicles), (further, asked)).await
}

async fn show(
    state: &WebState,
    signed_in: &SignedIn,
    (view, vehicles): (&mut View, &[Vehicle]),
    (further, (title, link, extra)): (Further, (String, QuestionLink, Extra)),
) -> PageResult {
    let posed: Posed = pose(view, vehicles, (link, extra), state.when()).await?;
    let head = || Head::new((state, signed_in), &title, further, &posed);
    match further {
        Further::Circuit => circuit::show(head(), &posed),
        Further::Closing => closing::show(head(), &posed),
        Further::WeakPoints => weak_points::show(head(), posed.clone()).await,
        Further::WeakPointsFile(kind) => file::send(kind, &title, posed).await,
        Further::Path => path::show(head(), &posed),
        Further::Faults => faults::show(head(), &posed, (view, &state.zone)).await,
        Further::Revealed => revealed::show(head(), &posed),
    }
}
