//! All modifications, those first that are to be embodied next, and of each how it stands.

use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks, Speaks};
use crate::campaigns::{Embodied, how_far};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::ledger::dossier::Issued;
use domain::people::APPROVES;
use domain::time::Day;
use domain::unreadable::Unreadable;
use serde::Deserialize;
use std::sync::Arc;

#[derive(Template)]
#[template(path = "modifications/list.html")]
struct ModificationsPage {
    frame: Frame,
    speaks: PageSpeaks,
    rows: Vec<Row>,
    /// The same list of all and of those that stand in one way: its address, in words, whether it is
    /// this one. None of a past time.
    lists: Vec<(String, &'static str, bool)>,
    may_issue: bool,
}

/// `?state=…`: how the modifications stand that are listed.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Standing {
    #[serde(default)]
    state: String,
}

/// How a modification stands today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stands {
    /// Its last day is over, and it is not embodied everywhere.
    Overdue,
    /// It is not embodied everywhere.
    Open,
    /// Nothing in the register is in its scope: whether it is done is not known.
    Empty,
    /// Nothing in the register that it is for is left.
    Embodied,
}

impl Stands {
    const ALL: [Self; 4] = [Self::Overdue, Self::Open, Self::Empty, Self::Embodied];

    fn of(issued: &Issued, come: Embodied, today: Day) -> Self {
        match come {
            Embodied::Everywhere => Self::Embodied,
            Embodied::NothingInScope => Self::Empty,
            Embodied::NotYet if issued.document.by < today => Self::Overdue,
            Embodied::NotYet => Self::Open,
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Overdue => "overdue",
            Self::Open => "open",
            Self::Empty => "empty",
            Self::Embodied => "embodied",
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::Overdue => "overdue",
            Self::Open => "to be embodied",
            Self::Empty => "nothing in its scope",
            Self::Embodied => "nothing left",
        }
    }

    fn is_overdue(self) -> bool {
        self == Self::Overdue
    }
}

impl Standing {
    /// Which are asked for; none where all are. Of a past time the list does not tell it.
    fn read(&self, speaks: &Speaks) -> Result<Option<Stands>, Unreadable> {
        let text = self.state.trim();
        if text.is_empty() {
            return Ok(None);
        }
        if speaks.past.is_some() {
            let expected = "nothing: how far each had come then is told on its own page";
            return Err(Unreadable::new("state", text, expected));
        }
        let mut all = Stands::ALL.into_iter();
        let found = all.find(|stands| stands.name() == text);
        let unknown = || Unreadable::new("state", text, "overdue, open, empty or embodied");
        found.map(Some).ok_or_else(unknown)
    }
}

/// The links to the same list by how they stand.
fn lists(asked: Option<Stands>) -> Vec<(String, &'static str, bool)> {
    let list = |stands: Option<Stands>| {
        let name = stands.map_or("", Stands::name);
        let words = stands.map_or("all", Stands::words);
        let link = address::with_query("/modifications", [("state", name)]);
        (link, words, stands == asked)
    };
    let each = Stands::ALL.into_iter().map(Some);
    std::iter::once(None).chain(each).map(list).collect()
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = (
    "which modifications had been issued",
    "How far each had come then is told on its own page.",
);

struct Row {
    number: String,
    address: String,
    title: String,
    scope: String,
    by: String,
    /// How it stands; of a past time not told here.
    stands: Option<Stands>,
}

/// `GET /modifications?state=…&at=…&known=…`. Two statements beyond those of the design data where any
/// was issued.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(query): Query<AsAtQuery>,
    Query(standing): Query<Standing>,
) -> PageResult {
    let speaks = query.read(&state)?;
    let asked = standing.read(&speaks)?;
    let mut view = speaks.view(&state).await?;
    let far = how_far(&mut view, &speaks).await?;
    let documents = Arc::clone(&view.documents);
    let issued = documents.modifications_issued(speaks.times.effective);
    let today = state.today();
    let known = issued.map(|issued| {
        let come = far.as_ref().map(|far| far.of(&issued.document.number));
        (come.map(|come| Stands::of(issued, come, today)), issued)
    });
    let mut known: Vec<_> = known
        .filter(|(stands, _)| asked.is_none() || *stands == asked)
        .collect();
    known.sort_by_key(|(stands, known)| {
        let done = *stands == Some(Stands::Embodied);
        (done, known.document.by, known.by)
    });
    let lists = if speaks.past.is_some() {
        Vec::new()
    } else {
        lists(asked)
    };
    let speaks = PageSpeaks::new((&query, &speaks), "/modifications".to_owned(), WHAT);
    let row = |(stands, issued): &(Option<Stands>, &Issued)| {
        let modification = &issued.document;
        Row {
            number: modification.number.to_string(),
            address: speaks.at_same(&address::modification(&modification.number)),
            title: modification.title.clone(),
            scope: modification.scope.to_string(),
            by: modification.by.to_string(),
            stands: *stands,
        }
    };
    let frame = Frame::new(&state, &signed_in);
    page(&ModificationsPage {
        rows: known.iter().map(row).collect(),
        lists,
        may_issue: frame.holds(APPROVES) && speaks.past.is_none(),
        speaks,
        frame,
    })
}
