//! The work that a visit takes on: what is due on its unit until it goes, car by car.

use crate::as_at::AsAtQuery;
use crate::due::query::DueQuery;
use crate::due::source::Source;
use crate::failure::Failure;
use crate::form::Fields;
use crate::page::due::{Row, row};
use crate::state::WebState;
use domain::due::visit::Visit;
use domain::identity::{CarNumber, PositionCode};
use store::read::View;
use store::read::due::{DueFilter, DueItem};

/// The most tasks that the page of a visit lists.
const WORK_MAX: usize = 1_000;

/// What a visit takes on.
pub(super) struct Work {
    /// By car, in the order of their numbers.
    pub(super) cars: Vec<CarWork>,
    pub(super) tasks: usize,
    /// Whether there is more than is listed.
    pub(super) more: bool,
    /// The same as a list with its filters and files.
    pub(super) list: String,
    /// What cannot be told, which may be due as well.
    pub(super) unknown: String,
}

/// The work on a car.
pub(super) struct CarWork {
    /// The car and its page.
    pub(super) car: (String, String),
    /// On the car as a whole first, then by position and day.
    pub(super) rows: Vec<Row>,
}

impl Work {
    /// Of now or of the times that the page speaks of: as the list of due work tells it. One
    /// statement; of a past time as many as that list.
    pub(super) async fn read(
        view: &mut View,
        visit: &Visit,
        (query, state): (&AsAtQuery, &WebState),
    ) -> Result<Self, Failure> {
        let fields = [
            ("unit", visit.unit.to_string()),
            ("until", visit.until.to_string()),
            ("at", query.at.clone()),
            ("known", query.known.clone()),
        ];
        let fields = fields.map(|(name, value)| (name.to_owned(), value));
        let mut asked = DueQuery::asked(Fields(fields.into_iter().collect()), state);
        let source = Source::of(view, &mut asked, state).await?;
        let filter = DueFilter {
            rows: WORK_MAX,
            ..asked.filter.clone()
        };
        let mut items = source.page(view, &filter).await?;
        let more = WORK_MAX < items.len();
        items.truncate(WORK_MAX);
        items.sort_by(|one, other| place(one).cmp(&place(other)));
        let documents = source.documents(view);
        let mut cars: Vec<CarWork> = Vec::new();
        let mut last: Option<&CarNumber> = None;
        for item in &items {
            let shown = row(item, (view, &documents), state);
            match (cars.last_mut(), &item.car, &shown.place.car) {
                (Some(same), Some(car), _) if last == Some(car) => same.rows.push(shown),
                (_, Some(car), Some(named)) => {
                    last = Some(car);
                    cars.push(CarWork {
                        car: named.clone(),
                        rows: vec![shown],
                    });
                }
                _ => {}
            }
        }
        Ok(Self {
            tasks: items.len(),
            cars,
            more,
            list: asked.page("/due", None),
            unknown: asked.ask("/due", &[("state", "unknown")]),
        })
    }
}

/// By car, then the car as a whole before its positions; what is due first comes first at each.
fn place(item: &DueItem) -> (Option<&CarNumber>, Option<&PositionCode>) {
    (item.car.as_ref(), item.position.as_ref())
}
