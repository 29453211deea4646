//! A design tried in a formation of the register.

use crate::failure::Failure;
use domain::configuration::car_type::CarType;
use domain::decision::formation::FormationText;
use domain::isolation::takes::LookedAt;
use domain::time::Day;
use exchange::output::OutputError;
use std::sync::Arc;
use store::read::View;

/// Looks at a design, beside another if there is one, in the formation of a text; where that is
/// empty, in a unit with a car of the design in it. Six statements. The rest takes a core for a
/// while, and holds up no other request.
pub(super) async fn look_at(
    view: &mut View,
    design: &Arc<CarType>,
    against: Option<&Arc<CarType>>,
    (formation, today): (&str, Day),
) -> Result<LookedAt, Failure> {
    let vehicles = if formation.is_empty() {
        let built_to = against.unwrap_or(design);
        let example = view.vehicle_of_design(built_to, today).await?;
        example.into_iter().collect()
    } else {
        let formation: FormationText = formation.parse()?;
        view.vehicles(&formation).await??
    };
    let trial = view.trial(vehicles, today).await??;
    let (design, against) = (Arc::clone(design), against.cloned());
    let look = move || LookedAt::of(&design, against.as_ref(), trial.as_ref());
    let looked_at = tokio::task::spawn_blocking(look).await;
    looked_at.map_err(|why| Failure::File(OutputError::Io(std::io::Error::other(why))))
}
