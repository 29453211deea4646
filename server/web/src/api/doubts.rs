//! Why components are to be judged again, as programs get it: of now alone.

use super::changed::DoubtBody;
use crate::as_at::Speaks;
use domain::configuration::component::ComponentRef;
use domain::identity::CarNumber;
use store::StoreError;
use store::read::View;

impl DoubtBody {
    /// Why a component is, if it is. One statement where anything ever was.
    pub(super) async fn of(
        view: &mut View,
        component: &ComponentRef,
        speaks: &Speaks,
    ) -> Result<Vec<Self>, StoreError> {
        if speaks.past.is_some() {
            return Ok(Vec::new());
        }
        let doubted = view.doubts_of(component).await?;
        Ok(doubted.iter().map(|one| (&one.doubt).into()).collect())
    }

    /// Why components on a car are, if any are. One statement where anything ever was.
    pub(super) async fn on_car(
        view: &mut View,
        car: &CarNumber,
        speaks: &Speaks,
    ) -> Result<Vec<Self>, StoreError> {
        if speaks.past.is_some() {
            return Ok(Vec::new());
        }
        let doubted = view.doubted().await?;
        let here = doubted.iter().filter(|one| one.car.as_ref() == Some(car));
        Ok(here.map(|one| (&one.doubt).into()).collect())
    }
}
