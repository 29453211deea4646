//! Springs released by hand to which air has come back, or may have: by how they are released they may
//! have applied again by themselves, and are on once that air goes (practice D.2, common practice, no
//! source).

use super::CommandedEffect;
use crate::circuit::Mode;
use crate::identity::CarNumber;
use std::collections::BTreeSet;

/// In one sentence; what tells places is given.
pub(super) fn in_words(
    effects: &[CommandedEffect],
    listed: impl Fn(&BTreeSet<(CarNumber, String)>) -> String,
) -> Option<String> {
    let running = effects.iter().map(|one| &one.effect);
    let running = running.filter(|effect| effect.mode != Mode::Holding);
    let springs = running.flat_map(|effect| &effect.actuators);
    let re_armed = springs.filter(|one| one.re_armed);
    let places = re_armed.map(|one| (one.car_number.clone(), one.position.to_string()));
    let places: BTreeSet<(CarNumber, String)> = places.collect();
    (!places.is_empty()).then(|| {
        format!(
            "Air is back, or may be, at springs recorded as released by hand: they may have applied \
             again by themselves, come on where that air goes, and are not counted to hold: {}.",
            listed(&places)
        )
    })
}
