//! Heat that friction brakes take up: holding a speed downhill, and in a stop. The power
//! downhill agrees with the figure of Regulation (EU) 321/2013 (WAG TSI), 4.2.4.3.3.

use super::GRAVITY_M_S2;
use crate::units::{Distance, Gradient, Kilograms, Kilowatts, Megajoules, Seconds, Speed};

/// The power that holds a mass at a steady speed on a falling gradient: P = m·g·i·v. Nil on the
/// level and uphill.
pub fn drag_power(mass: Kilograms, gradient: Gradient, speed: Speed) -> Kilowatts {
    let fall = (-gradient.0).max(0.0) / 1000.0;
    Kilowatts(mass.tonnes() * GRAVITY_M_S2 * fall * speed.metres_per_second())
}

/// How long a distance takes at a steady speed; `None` at a stand.
pub fn duration(distance: Distance, speed: Speed) -> Option<Seconds> {
    (speed.0 > 0.0).then(|| Seconds(distance.0 / speed.metres_per_second()))
}

/// What a power over a time heats.
pub fn energy(power: Kilowatts, time: Seconds) -> Megajoules {
    Megajoules(power.0 * time.0 / 1000.0)
}

/// The energy of a stop on the level: ½·m·(1 + rotating share)·v².
pub fn stop_energy(mass: Kilograms, rotating_share: f64, from: Speed) -> Megajoules {
    let v = from.metres_per_second();
    Megajoules(mass.tonnes() * (1.0 + rotating_share) * v * v / 2000.0)
}

/// The energy that the brakes of a static and a rotating mass take up in a stop of that distance
/// on a gradient: ½·(m + rotating)·v² − m·g·i·s, more where it falls. Never below nil.
pub fn braking_energy(
    (mass, rotating): (Kilograms, Kilograms),
    from: Speed,
    (gradient, distance): (Gradient, Distance),
) -> Megajoules {
    let v = from.metres_per_second();
    let moving = (mass + rotating).tonnes() * v * v / 2.0;
    let raised = mass.tonnes() * GRAVITY_M_S2 * gradient.0 / 1000.0 * distance.0;
    Megajoules((moving - raised).max(0.0) / 1000.0)
}

/// The speed from which a stop heats each of `active` discs as much as a stop from `speed`
/// heated each of `total`: V·√(n/N).
pub fn speed_of_equal_heat(speed: Speed, active: u32, total: u32) -> Option<Speed> {
    (0 < total && active <= total)
        .then(|| Speed(speed.0 * (f64::from(active) / f64::from(total)).sqrt()))
}
