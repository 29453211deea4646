//! Braked weight of block brakes from block force. The formulas and coefficients are those a
//! public longitudinal train dynamics program attributes to UIC leaflet 544-1; the leaflet's
//! own text was not at hand.

use super::rigging::Rigging;
use crate::units::GaugePressure;
use crate::words::word_list;

word_list! {
    /// Cast iron block, one or two to a holder.
    Block, "block" {
        /// One block to a holder.
        Bg = "Bg",
        /// Two blocks to a holder.
        Bgu = "Bgu",
    }
}

impl Block {
    /// The least and greatest force for a block holder, in kN, for which the curve holds.
    pub const fn force_range_kn(self) -> (f64, f64) {
        match self {
            Block::Bg => (5.0, 40.0),
            Block::Bgu => (5.0, 55.0),
        }
    }

    /// k = a0 + a1·F + a2·F² + a3·F³ with the force F for a block holder in kN; `None` outside
    /// the curve's range.
    pub fn k(self, force_kn: f64) -> Option<f64> {
        let [a0, a1, a2, a3] = match self {
            Block::Bg => [2.145, -5.38e-2, 7.8e-4, -5.36e-6],
            Block::Bgu => [2.137, -5.14e-2, 8.32e-4, -6.04e-6],
        };
        let (least, greatest) = self.force_range_kn();
        let polynomial = a0 + force_kn * (a1 + force_kn * (a2 + force_kn * a3));
        (least..=greatest).contains(&force_kn).then_some(polynomial)
    }

    /// The braked weight in tonnes of so many block holders with that force each: B = k·ΣF/9.81.
    /// Cutting some out with unchanged pressure on the rest leaves the force on each as it was.
    pub fn braked_weight_t(self, force_kn: f64, holders: u32) -> Option<f64> {
        let total_kn = force_kn * f64::from(holders);
        self.k(force_kn).map(|k| k * total_kn / super::GRAVITY_M_S2)
    }
}

/// A cylinder with its rigging.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BlockRigging {
    /// Cylinder pressure in bar.
    pub pressure_bar: f64,
    /// Piston area in cm².
    pub area_cm2: f64,
    /// Rigging ratio.
    pub ratio: f64,
    /// Axles braked by it.
    pub axles: u32,
}

/// Force of the cylinder's return spring, in newtons.
const SPRING_N: f64 = 1500.0;
/// Force of the slack adjuster, in newtons.
const ADJUSTER_N: f64 = 2000.0;
/// Efficiency of the rigging.
const EFFICIENCY: f64 = 0.83;

impl BlockRigging {
    /// The sum of the block forces in kN: (p·S·I/100 − Ff·I − 2·n·R)·η.
    pub fn force_kn(&self) -> f64 {
        let rigging = Rigging {
            pressure: GaugePressure(self.pressure_bar),
            area_cm2: self.area_cm2,
            cylinder_efficiency: 1.0,
            spring_n: SPRING_N,
            ratio: self.ratio,
            adjuster_n: 2.0 * f64::from(self.axles) * ADJUSTER_N,
            efficiency: EFFICIENCY,
        };
        rigging.pressing_force_n() / 1000.0
    }
}
