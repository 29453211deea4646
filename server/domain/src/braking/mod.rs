//! Brake mathematics: how much brake there is, how far a train runs until it stops, on which
//! gradient it stands, what that asks of adhesion, discs and stored air. Nothing here knows
//! which brakes are isolated; it is told what is left.

pub mod adhesion;
pub mod block_brake;
pub mod braked_weight;
pub mod disc_brake;
pub mod forces;
pub mod heat;
pub mod holding;
pub mod percentage;
pub mod requirements;
pub mod rigging;
pub mod stopping_distance;
pub mod stored_air;
pub mod tread_brake;

/// Acceleration of free fall in m/s², as SUBSET-026-3, 3.13.4.3 fixes it.
pub const GRAVITY_M_S2: f64 = 9.81;
