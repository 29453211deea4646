//! Speed margins of supervision (SUBSET-026-3, A.3.1 and 3.13.9.2): by how much a train may
//! exceed its permitted speed before it is warned or braked.

use crate::units::Speed;
use crate::words::word_list;

word_list! {
    /// What happens at the end of the margin.
    Intervention, "intervention" {
        /// The emergency brake.
        EmergencyBrake = "emergency_brake",
        /// The service brake.
        ServiceBrake = "service_brake",
        /// A warning.
        Warning = "warning",
    }
}

impl Intervention {
    /// The margin above a permitted speed: even from the least to the greatest between two
    /// speeds, and constant beside them.
    pub fn margin(self, permitted: Speed) -> Speed {
        let (least, greatest, from, to) = match self {
            Self::EmergencyBrake => (7.5, 15.0, 110.0, 210.0),
            Self::ServiceBrake => (5.5, 10.0, 110.0, 210.0),
            Self::Warning => (4.0, 5.0, 110.0, 140.0),
        };
        let slope: f64 = (greatest - least) / (to - from);
        Speed((least + slope * (permitted.0 - from)).clamp(least, greatest))
    }
}
