//! Places of the circuit that can never be filled: where no part is approved, nothing may be fitted,
//! and an empty place delivers nothing.

use super::{Remark, code};
use crate::circuit::compiled::CompiledCircuit;
use crate::identity::PositionCode;

/// Positions of the circuit where no part is approved. Linear in positions times nodes.
pub(super) fn nothing_approved(circuit: &CompiledCircuit) -> Vec<Remark> {
    let codes = circuit.nodes().iter().filter_map(code);
    let car_type = circuit.car_type();
    // What belongs inside an assembly its part says.
    let inside = |code: &PositionCode| {
        let mut hosts = car_type.positions.iter();
        hosts.any(|host| !host.approved.is_empty() && code.is_inside(&host.code))
    };
    let empty = codes.filter(|code| {
        let position = car_type.position(code);
        position.is_some_and(|position| position.approved.is_empty()) && !inside(code)
    });
    empty.cloned().map(Remark::NothingApproved).collect()
}
