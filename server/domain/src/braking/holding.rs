//! Standing on a gradient. The pull of the gradient is m·g·i, a little more than the exact
//! m·g·sin α, so that the error is on the safe side.

use super::GRAVITY_M_S2;
use crate::units::{Gradient, Kilograms, Kilonewtons, Thousandths};
use crate::worked::{Missing, Source, Step, Worked};

/// The force that holds a mass on a gradient, up or down: m·g·i.
pub fn force_needed(mass: Kilograms, gradient: Gradient) -> Kilonewtons {
    Kilonewtons(mass.tonnes() * GRAVITY_M_S2 * gradient.0.abs() / 1000.0)
}

/// The steepest gradient, as a positive number, on which a holding force keeps a mass with a
/// safety factor: i = F / (factor·m·g). No answer without a mass and a factor of at least 1.
pub fn gradient_kept(
    force: Kilonewtons,
    mass: Kilograms,
    safety_factor: f64,
) -> Result<Worked<Gradient>, Missing> {
    if mass <= Kilograms(0) {
        return Err(Missing::one("a mass above nil", "holding on a gradient"));
    }
    if safety_factor.is_nan() || safety_factor < 1.0 {
        let what = "a safety factor of 1 or more";
        return Err(Missing::one(what, "holding on a gradient"));
    }
    let kept = 1000.0 * force.0 / (safety_factor * mass.tonnes() * GRAVITY_M_S2);
    let working = format!(
        "1000 · {force:.2} / ({safety_factor} · {mass} · {GRAVITY_M_S2} m/s²) = {kept:.2} ‰"
    );
    let step = Step {
        what: "gradient that the holding force keeps".into(),
        working,
        source: Source::Published("Regulation (EU) 1302/2014, 4.2.4.5.5; F = m·g·i".into()),
    };
    Ok(Worked {
        value: Gradient(kept),
        steps: vec![step],
    })
}

/// The most force that an axle of that load can hold with when it may use only so much adhesion:
/// τ·m·g, with m·g for the force between wheel and rail, which on a gradient is a little less: by
/// 0.1 % on 40 per mille.
pub fn adhesion_holds(load: Kilograms, adhesion: Thousandths) -> Kilonewtons {
    Kilonewtons(adhesion.real() * load.tonnes() * GRAVITY_M_S2)
}

/// How many of equal axles must be braked to hold on a gradient when each may use only
/// `adhesion_thousandths` of its load: the share is i/τ, rounded up. `None` when no number of
/// them is enough.
pub fn parking_axles_needed(
    axles: u32,
    gradient_per_mille: u32,
    adhesion_thousandths: u32,
) -> Option<u32> {
    let pull = u64::from(axles) * u64::from(gradient_per_mille);
    let needed = pull.checked_add(u64::from(adhesion_thousandths).checked_sub(1)?)?
        / u64::from(adhesion_thousandths);
    u32::try_from(needed).ok().filter(|n| *n <= axles)
}
