//! What the tests share: a running server, databases, a fleet, people.

pub mod car_type_text;
pub mod reference_unit;
