//! That a component is to be judged again: somebody judged it, or took it out of an assembly, without
//! knowing what was told after.

use crate::address;
use crate::as_at::Speaks;
use domain::configuration::component::ComponentRef;
use domain::identity::CarNumber;
use domain::ledger::consequences::AnsweredBy;
use domain::ledger::dossier::Fitment;
use store::StoreError;
use store::read::View;
use store::read::doubted::Doubted;

/// Why a component is to be judged again.
pub(crate) struct JudgeAgain {
    /// In words, with the component.
    pub(crate) words: String,
    /// The component's page.
    pub(crate) component: String,
    /// The entry that told it after, and its page.
    pub(crate) told_by: (String, String),
    /// Whether two people answer it, as a release from quarantine.
    pub(crate) by_two: bool,
    /// How it is answered, where not by whoever judges it.
    pub(crate) answer: &'static str,
}

fn answer(by: AnsweredBy) -> &'static str {
    match by {
        AnsweredBy::One => "",
        AnsweredBy::Two => " Two people answer it, as a release from quarantine.",
        AnsweredBy::Ending(_) => {
            " It is never fitted again: record that again, or its destruction, or a brake engineer \
             corrects that entry if it is wrong."
        }
    }
}

impl JudgeAgain {
    fn new(one: &Doubted) -> Self {
        let answered_by = one.doubt.answered_by();
        Self {
            words: one.doubt.to_string(),
            component: address::component(&one.doubt.component),
            told_by: (one.raised_by.to_string(), address::entry(one.raised_by)),
            by_two: answered_by == AnsweredBy::Two,
            answer: answer(answered_by),
        }
    }

    /// Each of some, in their order.
    pub(crate) fn all(doubted: &[Doubted]) -> Vec<Self> {
        doubted.iter().map(Self::new).collect()
    }

    /// What on a car is, now. One statement where anything ever was.
    pub(crate) async fn on(view: &mut View, car: &CarNumber) -> Result<Vec<Self>, StoreError> {
        let mut doubted = view.doubted().await?;
        doubted.retain(|one| one.car.as_ref() == Some(car));
        Ok(Self::all(&doubted))
    }

    /// Why what is fitted somewhere is, if anything is.
    pub(crate) async fn here(
        view: &mut View,
        fitted: Option<&Fitment>,
        speaks: &Speaks,
    ) -> Result<Vec<Self>, StoreError> {
        match fitted {
            None => Ok(Vec::new()),
            Some(fitment) => Self::of(view, &fitment.component, speaks).await,
        }
    }

    /// Why a component is, now; of a past time none is told. One statement where anything ever was.
    pub(super) async fn of(
        view: &mut View,
        component: &ComponentRef,
        speaks: &Speaks,
    ) -> Result<Vec<Self>, StoreError> {
        if speaks.past.is_some() {
            return Ok(Vec::new());
        }
        Ok(Self::all(&view.doubts_of(component).await?))
    }
}
