//! What the register knows of things: car types and their positions, cars, units, trains,
//! parts and components.

pub mod brake_forces;
pub mod car;
pub mod car_type;
pub mod certificate;
pub mod compared;
pub mod component;
pub mod held;
pub mod host;
pub mod part;
