//! What the register knows of things: car types and their positions, cars, units, trains,
//! parts and components.

pub mod approved_text;
pub mod brake_forces;
pub mod car;
pub mod car_type;
pub mod certificate;
pub mod compared;
pub mod component;
pub mod concession;
pub mod design_compared;
pub mod effectivity;
pub mod filled;
pub mod fleet_check;
pub mod held;
pub mod host;
pub mod location;
pub mod looked_for;
pub mod modification;
pub mod part;
pub mod plate;
pub mod setting;
pub mod unit_compared;
