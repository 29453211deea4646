//! Places of the circuit that can never be filled: where no part is approved, nothing may be fitted,
//! and an empty place delivers nothing.

use super::{Remark, code};
use crate::circuit::compiled::CompiledCircuit;

/// Positions of the circuit where no part is approved. Linear in positions times nodes.
pub(super) fn nothing_approved(circuit: &CompiledCircuit) -> Vec<Remark> {
    let codes = circuit.nodes().iter().filter_map(code);
    let empty = codes.filter(|code| {
        let position = circuit.car_type().position(code);
        position.is_some_and(|position| position.approved.is_empty())
    });
    empty.cloned().map(Remark::NothingApproved).collect()
}
