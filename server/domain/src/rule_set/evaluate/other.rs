//! Rules about holding, redundant equipment, dragging brakes and protection against sliding.

use super::{Finding, finding, kept};
use crate::braking::holding::{force_needed, gradient_kept};
use crate::isolation::Supply;
use crate::rule_set::facts::TrainFacts;
use crate::rule_set::measure::needed;
use crate::rule_set::requirement::{Dragging, Equipment, Holding, SlideProtection};
use crate::units::{Gradient, Kilonewtons};
use crate::worked::Missing;

pub(super) fn judge_holding(rule: &Holding, train: &TrainFacts) -> Result<Finding, Missing> {
    let holding = needed(train.holding, "holding force and mass", "train")?;
    let kept_gradient = gradient_kept(holding.force, holding.mass, rule.safety_factor)?.value;
    // Compared as forces, so that the exact requirement is met without a rounding division.
    let pull = force_needed(holding.mass, rule.gradient).0 * rule.safety_factor;
    let gradient = Gradient(rule.gradient.0.abs());
    let by = match holding.adhesion {
        Some(adhesion) => format!("each axle by an adhesion of at most {adhesion}"),
        None => "not limited by adhesion".to_owned(),
    };
    let working = format!(
        "{:.1}, {by}, hold {} on {kept_gradient} with factor {}; needed {:.1} for {gradient}",
        holding.force,
        holding.mass,
        rule.safety_factor,
        Kilonewtons(pull),
    );
    if holding.force.0 >= pull {
        return Ok(kept(working));
    }
    finding(working, &rule.otherwise, train)
}

pub(super) fn judge_equipment(rule: &Equipment, train: &TrainFacts) -> Result<Finding, Missing> {
    let what = format!("count of {}", rule.kind);
    let counted = needed(train.equipment.get(&rule.kind), &what, "train")?;
    let working = format!(
        "{}: {} of {} work, {} must",
        rule.kind,
        counted.operative(),
        counted.total(),
        rule.at_least
    );
    if counted.operative() >= rule.at_least {
        return Ok(kept(working));
    }
    finding(working, &rule.otherwise, train)
}

pub(super) fn judge_dragging(rule: &Dragging, train: &TrainFacts) -> Result<Finding, Missing> {
    let dragging = needed(train.dragging, "count of dragging brakes", "train")?;
    let (count, when) = match rule.when {
        Supply::Now => (dragging.at_once, "drag or may drag at once"),
        Supply::Exhausted => (
            dragging.later,
            "drag or may drag once stored air is used up",
        ),
    };
    let working = format!("{count} brakes {when}, {} may", rule.at_most);
    if count <= rule.at_most {
        return Ok(kept(working));
    }
    finding(working, &rule.otherwise, train)
}

pub(super) fn judge_slide_protection(
    rule: &SlideProtection,
    train: &TrainFacts,
) -> Result<Finding, Missing> {
    let what = "count of braked axles without protection against sliding";
    let count = needed(train.unprotected_axles, what, "train")?;
    let working = format!(
        "{count} braked axles without protection against sliding, {} may be",
        rule.at_most
    );
    if count <= rule.at_most {
        return Ok(kept(working));
    }
    finding(working, &rule.otherwise, train)
}
