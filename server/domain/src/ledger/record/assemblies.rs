//! The design of assemblies: the positions that a part has of its own, and what a car type says
//! of places inside them.

use super::baselines;
use crate::configuration::car_type::{CarType, Position, PositionKind};
use crate::configuration::part::{InnerPosition, LEVELS_MAX, POSITIONS_MAX, Part, REACH_MAX_CHARS};
use crate::identity::{PartNumber, PositionCode};
use crate::ledger::dossier::Documents;
use crate::refusal::Refusal;

/// The most characters of the code of a position of a car, without what is inside assemblies.
const CODE_MAX_CHARS: usize = 40;

fn impossible(field: &'static str, given: &dyn ToString, allowed: String) -> Refusal {
    Refusal::Impossible {
        field,
        given: given.to_string(),
        allowed,
    }
}

/// Checks the positions of a part. What is approved there is in the catalogue before it, so that
/// nothing can come to be inside itself.
pub(super) fn check_positions(documents: &Documents, part: &Part) -> Result<(), Refusal> {
    if POSITIONS_MAX < part.positions.len() {
        let allowed = format!("at most {POSITIONS_MAX} positions of a part");
        return Err(impossible("position", &part.positions.len(), allowed));
    }
    for (place, position) in part.positions.iter().enumerate() {
        check_code(position, &part.positions[..place])?;
        check_approved(documents, &position.approved, position.kind)?;
        baselines::check_states(documents, (&position.approved, &position.states))?;
    }
    let depth = documents.depth(&part.positions);
    if LEVELS_MAX < depth.levels {
        let allowed = format!("at most {LEVELS_MAX} assemblies inside one another");
        return Err(impossible("approved_parts", &depth.levels, allowed));
    }
    if REACH_MAX_CHARS < depth.reach {
        let given = format!("codes of {} characters on all levels", depth.reach);
        let allowed = format!("at most {REACH_MAX_CHARS} characters");
        return Err(impossible("position", &given, allowed));
    }
    Ok(())
}

/// A code that begins with another one of the part could be mistaken for a place inside that.
fn check_code(position: &InnerPosition, others: &[InnerPosition]) -> Result<(), Refusal> {
    let code = &position.code;
    let begins =
        |one: &PositionCode, other: &PositionCode| one == other || one.after(other).is_some();
    let clash = others
        .iter()
        .find(|other| begins(code, &other.code) || begins(&other.code, code));
    match clash {
        None => Ok(()),
        Some(other) => {
            let allowed = format!(
                "each code once in a part, and none that begins with another, as with {}",
                other.code
            );
            Err(impossible("position", code, allowed))
        }
    }
}

/// Checks that parts approved at a position are known and made for it.
pub(super) fn check_approved(
    documents: &Documents,
    approved: &[PartNumber],
    kind: PositionKind,
) -> Result<(), Refusal> {
    for number in approved {
        let unknown = || Refusal::Unknown {
            what: "part",
            name: number.to_string(),
        };
        let part = documents.part(number).ok_or_else(unknown)?;
        check_made_for("approved_parts", part, &[kind])?;
    }
    Ok(())
}

/// Checks that a part is made for one of these kinds of position.
pub(super) fn check_made_for(
    field: &'static str,
    part: &Part,
    kinds: &[PositionKind],
) -> Result<(), Refusal> {
    if kinds.contains(&part.kind) {
        return Ok(());
    }
    let given = format!("{}, made for a {}", part.number, part.kind);
    let kinds: Vec<String> = kinds.iter().map(|kind| format!("a {kind}")).collect();
    let allowed = format!("parts made for {}", kinds.join(" or "));
    Err(impossible(field, &given, allowed))
}

/// Checks a position of a car type. A code that begins with that of another position may be of a
/// place inside what is approved there; then it must be so in every approved part, and what may
/// be fitted is for the parts to say.
pub(super) fn check_place(
    documents: &Documents,
    car_type: &CarType,
    position: &Position,
) -> Result<(), Refusal> {
    let code = &position.code;
    let mut inside = false;
    for host in &car_type.positions {
        let Some(rest) = code.after(&host.code) else {
            continue;
        };
        let meanings = documents.meanings(&host.approved, &host.code, &rest);
        if meanings.iter().all(Option::is_none) {
            continue;
        }
        inside = true;
        let right = meanings.iter().all(|meaning| {
            let meant = meaning.as_ref().map(|inner| inner.position.kind);
            meant == Some(position.kind)
        });
        if !right {
            let allowed = format!(
                "a place of that kind inside every part approved at {}, or in none",
                host.code
            );
            return Err(impossible("position", code, allowed));
        }
    }
    match (inside, position.approved.as_slice()) {
        (true, [_, ..]) => {
            let given = format!("{} parts at {code}", position.approved.len());
            let allowed = "none at a place inside an assembly: its part says what is approved";
            Err(impossible("approved_parts", &given, allowed.into()))
        }
        (false, _) if CODE_MAX_CHARS < code.as_str().chars().count() => {
            let allowed = format!("a code of at most {CODE_MAX_CHARS} characters");
            Err(impossible("position", code, allowed))
        }
        _ => Ok(()),
    }
}
