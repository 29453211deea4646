//! Further questions about a train or any formation, each on a page of its own: the drawing of its
//! circuit, what to close, weak points, the path to a position, fault finding, and what reveals a wrong cock. What is
//! supposed in the address of a decision is supposed on these pages too, and of the past time in it they
//! tell as well.

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
use crate::as_at::{AsAtQuery, Speaks};
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
use posed::{Extra, Posed, pose, pose_then};
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

/// What the pages tell of a past time, and what on them is of now all the same.
const WHAT: (&str, &str) = (
    "the answer about the cars as they were fitted and cut out",
    "It is worked out anew, and nothing was decided by it.",
);

/// `GET /trains/{train}/{page}`
pub(crate) async fn of_train(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path((train, page)): Path<(String, String)>,
    Query(query): Pairs,
) -> PageResult {
    let further = found(&page)?;
    let id: TrainId = train.parse()?;
    let address = address::train(&id);
    let (mut view, asked) = Asked::read(&state, (further, address), query).await?;
    let known = match asked.speaks.then() {
        None => view.train(&id).await?,
        Some(as_at) => view.train_told(&id, as_at).await?,
    };
    let known = known.ok_or_else(|| Failure::NotFound {
        what: "train",
        name: id.to_string(),
    })?;
    let of = (format!("Train {id}"), known.formation.vehicles);
    show((&state, &signed_in), &mut view, (of, asked)).await
}

/// `GET /decision/{page}?formation=…`
pub(crate) async fn of_formation(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(page): Path<String>,
    Query(query): Pairs,
) -> PageResult {
    let further = found(&page)?;
    let address = "/decision".to_owned();
    let (mut view, asked) = Asked::read(&state, (further, address), query).await?;
    let formation: FormationText = asked.link.formation().unwrap_or_default().parse()?;
    let vehicles = view.vehicles(&formation).await?;
    let of = (format!("Formation {formation}"), vehicles?);
    show((&state, &signed_in), &mut view, (of, asked)).await
}

/// What an address asks.
struct Asked {
    further: Further,
    link: QuestionLink,
    extra: Extra,
    speaks: Speaks,
}

impl Asked {
    /// Reads it, with the register that it is asked of.
    async fn read(
        state: &WebState,
        (further, address): (Further, String),
        mut query: Vec<(String, String)>,
    ) -> Result<(View, Self), Failure> {
        let times = AsAtQuery::take(&mut query);
        let speaks = times.read(state)?;
        let (mut extra, mut question) = Extra::split(query);
        let mut view = speaks.view(state).await?;
        let day = state.zone.day_of(speaks.times.effective);
        by_codes(&mut view, &mut question, day).await?;
        extra_by_codes(&mut view, &mut extra, day).await?;
        let link = QuestionLink::read(address, &question)?.of_times(times);
        let asked = Self {
            further,
            link,
            extra,
            speaks,
        };
        Ok((view, asked))
    }
}

async fn show(
    (state, signed_in): (&WebState, &SignedIn),
    view: &mut View,
    ((title, vehicles), asked): ((String, Vec<Vehicle>), Asked),
) -> PageResult {
    let Asked {
        further,
        link,
        extra,
        speaks,
    } = asked;
    let question = (link, extra);
    let posed: Posed = match speaks.then() {
        None => pose(view, &vehicles, question, state.when()).await?,
        Some(as_at) => {
            let of = (as_at, state.zone.day_of(as_at.effective));
            pose_then(view, &vehicles, question, of).await?
        }
    };
    let title = match &speaks.past {
        None => title,
        Some(past) => format!("{title} as at {}", past.effective),
    };
    let head = || Head::new((state, signed_in), &title, (further, &speaks), &posed);
    match further {
        Further::Circuit => circuit::show(head(), &posed),
        Further::Closing => closing::show(head(), &posed),
        Further::WeakPoints => weak_points::show(head(), posed.clone()).await,
        Further::WeakPointsFile(kind) => file::send(kind, (&title, &speaks), posed).await,
        Further::Path => path::show(head(), &posed),
        Further::Faults => faults::show(head(), &posed, (view, &state.zone)).await,
        Further::Revealed => revealed::show(head(), &posed),
    }
}
