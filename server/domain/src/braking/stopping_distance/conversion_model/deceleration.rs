//! Deceleration by speed, in steps (SUBSET-026-3, A.3.7). A step holds up to and including its
//! upper speed (3.13.2.2.3.1.3). The deceleration is not monotonic in speed, and the polynomials
//! must not be evaluated outside the steps they are used for.

use crate::braking::GRAVITY_M_S2;
use crate::units::{Deceleration, Gradient, Speed};

/// One step of the deceleration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DecelerationStep {
    /// The speed up to and including which it holds; infinite for the last.
    pub up_to: Speed,
    /// The deceleration.
    pub deceleration: Deceleration,
}

/// The steps from a stand upward.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile(Vec<DecelerationStep>);

/// Upper speed of steps 1 to 5, and their coefficients a3, a2, a1, a0.
const POLYNOMIALS: [(f64, [f64; 4]); 5] = [
    (100.0, [-6.30e-7, 6.10e-5, 4.72e-3, 0.0663]),
    (120.0, [2.73e-7, -4.54e-6, 5.14e-3, 0.1300]),
    (150.0, [5.58e-8, -6.76e-6, 5.81e-3, 0.0479]),
    (180.0, [3.00e-8, -3.85e-6, 5.52e-3, 0.0480]),
    (f64::INFINITY, [3.23e-9, 1.66e-6, 5.06e-3, 0.0559]),
];

/// The upper speed of the lowest step: 16.85·λ^0.428 km/h.
pub fn lowest_step_up_to(percentage: u32) -> Speed {
    Speed(16.85 * f64::from(percentage).powf(0.428))
}

impl Profile {
    /// The steps of a whole percentage.
    pub fn of(percentage: u32) -> Self {
        let lambda = f64::from(percentage);
        let lowest = DecelerationStep {
            up_to: lowest_step_up_to(percentage),
            deceleration: Deceleration(0.0075 * lambda + 0.076),
        };
        let higher = POLYNOMIALS
            .iter()
            .filter(|(up_to, _)| lowest.up_to.0 < *up_to)
            .map(|(up_to, [a3, a2, a1, a0])| DecelerationStep {
                up_to: Speed(*up_to),
                deceleration: Deceleration(a0 + lambda * (a1 + lambda * (a2 + lambda * a3))),
            });
        Self(std::iter::once(lowest).chain(higher).collect())
    }

    /// The steps from a stand upward.
    pub fn steps(&self) -> &[DecelerationStep] {
        &self.0
    }

    /// The deceleration at a speed; `None` only for a speed that is not a number.
    pub fn at(&self, speed: Speed) -> Option<Deceleration> {
        let step = self.0.iter().find(|step| speed <= step.up_to);
        step.map(|step| step.deceleration)
    }
}

/// The deceleration by the gradient, negative downhill: g·i/(1000 + 10·M), with rotating masses M
/// of 15 % uphill and 2 % downhill where they are not known (3.13.4.3, A.3.1).
pub fn by_gradient(gradient: Gradient) -> Deceleration {
    let rotating_percent = if gradient.0 > 0.0 { 15.0 } else { 2.0 };
    Deceleration(GRAVITY_M_S2 * gradient.0 / (1000.0 + 10.0 * rotating_percent))
}
