//! Where pads or blocks are looked at after a cut-out: at every bogie of which a brake no longer
//! does what it should, wherever the cock is that does it.

use super::brakes::{Brake, causes};
use super::checks::{Check, CheckKind, Place};
use super::joined::{bogies, joined, named, place_of};
use crate::worked::Source;
use std::collections::BTreeSet;

/// A brake that is looked at.
struct LookedAt<'e> {
    brake: Brake<'e>,
    /// Whether it is so once stored air is used up, and not before.
    later: bool,
}

/// One check for all bogies that a cut-out takes a brake from, or puts one on (common practice, no
/// source). Linear in brakes times cut-outs.
pub(super) fn pads_free<'e>(
    places: &[Place<'_>],
    brakes: impl Iterator<Item = Brake<'e>>,
) -> Vec<Check> {
    let looked_at = brakes.filter_map(|brake| {
        let now = brake.is_amiss() || brake.is_on();
        let later = !now && brake.comes_on();
        let both = if now { brake.now } else { brake.later };
        let of: BTreeSet<usize> = causes(both)
            .filter_map(|cause| place_of(places, cause.car, &cause.position))
            .collect();
        let looks = (now || later) && !of.is_empty();
        looks.then_some((of, LookedAt { brake, later }))
    });
    let checks = joined(looked_at).into_iter().map(|group| {
        let all = group.all.iter().map(|one| one.brake.of());
        let all = all.map(|of| (of.car, of.car_number.clone(), of.bogie));
        let again = if group.all.iter().any(|one| one.later) {
            " Look again before each start: where the air leaks away, a brake comes on by itself."
        } else {
            ""
        };
        let bogies = bogies(&all.collect());
        Check {
            kind: CheckKind::PadsFree,
            of: named(places, &group.of),
            text: format!("Pads or blocks are free on both sides of each axle: {bogies}.{again}"),
            source: Source::CommonPractice,
        }
    });
    checks.collect()
}
