//! How a position departs from the baseline, in the words of the list of departures.

use crate::address;
use crate::as_at::Speaks;
use crate::departure::{Baseline, allowed, words};
use crate::failure::Failure;
use crate::state::WebState;
use domain::configuration::component::PositionRef;
use domain::ledger::departures::{DepartureKind, DepartureStanding};
use domain::ledger::dossier::Documents;
use domain::time::Day;
use store::read::View;
use store::read::departures::{DepartureFilter, DepartureItem};

/// A departure of a position today.
pub(super) struct Departs {
    pub(super) kind: DepartureKind,
    pub(super) words: String,
    /// What is approved or wanted there.
    pub(super) approved: String,
    pub(super) standing: DepartureStanding,
    /// The concession in words, and its page.
    pub(super) concession: Option<(String, String)>,
}

impl Departs {
    /// All of a position, those that no concession allows first; of a past time, the list of
    /// departures tells them. One statement.
    pub(super) async fn of(
        view: &mut View,
        at: &PositionRef,
        (speaks, state): (&Speaks, &WebState),
    ) -> Result<Vec<Self>, Failure> {
        if speaks.past.is_some() {
            return Ok(Vec::new());
        }
        let on = state.today();
        let filter = DepartureFilter {
            car: Some(at.car.clone()),
            position: Some(at.position.clone()),
            ..DepartureFilter::all(on)
        };
        let items = view.departures(&filter).await?;
        let documents = &view.documents;
        let mut all: Vec<Self> = items
            .iter()
            // That nothing is there, the page says itself.
            .filter(|item| item.kind != DepartureKind::Vacant)
            .map(|item| {
                let number = item.concession.as_ref().map(|(number, _)| number);
                Self {
                    kind: item.kind,
                    words: words(item),
                    approved: approved(item, documents, on),
                    standing: item.standing(on),
                    concession: allowed(item, on).zip(number.map(address::concession)),
                }
            })
            .collect();
        all.sort_by_key(|one| one.standing != DepartureStanding::Finding);
        Ok(all)
    }

    /// The style of its banner: what is found, and neither allowed nor merely not known, is wrong.
    pub(super) fn class(&self) -> &'static str {
        let unknown = matches!(
            self.kind,
            DepartureKind::Unknown | DepartureKind::SettingNotTold
        );
        if unknown || self.standing == DepartureStanding::UnderConcession {
            "caution"
        } else {
            "refusal"
        }
    }
}

/// The parts that are approved there, or what is wanted and allowed of a setting.
fn approved(item: &DepartureItem, documents: &Documents, on: Day) -> String {
    let approved = Baseline::of(item, documents, on).approved.join(", ");
    match item.setting {
        None if !approved.is_empty() => format!("approved: {approved}"),
        _ => approved,
    }
}
