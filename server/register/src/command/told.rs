//! A decision as text for the terminal and for printing.

use super::told_brakes;
use domain::decision::answer::Answer;
use domain::decision::asked::AskedField;
use domain::decision::forces::Forces;
use domain::decision::{
    CommandedEffect, Decision, Holding, RuleSetAnswer, Supposed, counted_until,
};
use domain::isolation::Supply;
use domain::isolation::cause::{Cause, CauseKind};
use domain::rule_set::verdict::{Imposed, Permission, Verdict};
use domain::time::Zone;
use domain::worked::{Missing, Step};
use std::collections::BTreeMap;
use std::fmt;

/// What is told.
pub(crate) struct Told<'a> {
    /// The answer.
    pub(crate) answer: &'a Answer,
    /// What was supposed.
    pub(crate) supposed: &'a [Supposed],
    /// In which times are told.
    pub(crate) zone: &'a Zone,
}

impl fmt::Display for Told<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.supposed.is_empty() {
            writeln!(f, "As it stands.")?;
        } else {
            writeln!(
                f,
                "WHAT IF. This is no decision and cannot be issued as one. Supposed:"
            )?;
            for one in self.supposed {
                writeln!(f, "  {one}")?;
            }
        }
        self.asked(f)?;
        match &self.answer.decision {
            Ok(decision) => {
                told(f, decision, self.zone)?;
                told_brakes::states(f, decision)?;
                told_brakes::stored_air(f, &self.answer.stored_air(self.supposed))?;
                checks(f, decision)
            }
            Err(missing) => writeln!(f, "\nNO VERDICT: {missing}"),
        }
    }
}

impl Told<'_> {
    fn asked(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "\nAsked")?;
        for field in AskedField::ALL {
            let value = match (self.answer.words.text(*field), field.unit()) {
                ("", _) => "not known".to_owned(),
                (value, Some(unit)) => format!("{value} {unit}"),
                (value, None) => value.replace('_', " "),
            };
            let because = self.answer.because(*field);
            let assumed = match (self.answer.assumed.contains(field), because) {
                (false, _) => String::new(),
                (true, None) => "  (assumed for this question)".to_owned(),
                (true, Some(because)) => format!("  (assumed for this question: {because})"),
            };
            writeln!(f, "  {:<20} {value}{assumed}", field.to_string())?;
        }
        Ok(())
    }
}

/// Everything that was found.
fn told(f: &mut fmt::Formatter<'_>, decision: &Decision, zone: &Zone) -> fmt::Result {
    if decision.verdicts.is_empty() {
        writeln!(f, "\nNO VERDICT: no rule set is in force")?;
    }
    for answer in decision.strictest_first() {
        verdict(f, answer)?;
    }
    let warnings = decision.warnings().into_iter().map(|one| one.text);
    let until = decision
        .counted_until
        .map(|until| counted_until(until, zone));
    let known: Vec<String> = warnings.chain(until).collect();
    if !known.is_empty() {
        writeln!(f, "\nTO BE KNOWN BESIDE THE VERDICTS")?;
    }
    for text in known {
        writeln!(f, "  ! {text}")?;
    }
    writeln!(
        f,
        "\nBrake percentage in emergency braking, before and after"
    )?;
    percentage(f, "now", &decision.percentage)?;
    percentage(f, "stored air used up", &decision.percentage_later)?;
    writeln!(
        f,
        "\nStopping distance, each method by itself, before and after"
    )?;
    for pair in &decision.stopping {
        write!(f, "  {}: ", pair.method.label())?;
        match (&pair.before.distance, &pair.after.distance) {
            (Ok(before), Ok(after)) => {
                writeln!(f, "{}, {}", before.value.stop, after.value.stop)?;
                steps(f, &after.steps)?;
            }
            (Err(missing), _) | (_, Err(missing)) => writeln!(f, "{missing}")?,
        }
        for lower in pair.from_lower_speeds(&decision.way) {
            let (before, after) = (lower.before.value.stop, lower.after.value.stop);
            writeln!(f, "    from {:.0} only: {before}, {after}", lower.from)?;
        }
        let mut later = decision.stopping_later.iter();
        if let Some(later) = later.find(|later| later.method == pair.method) {
            match &later.after.distance {
                Ok(after) => writeln!(f, "    once stored air is used up: {}", after.value.stop)?,
                Err(missing) => writeln!(f, "    once stored air is used up: {missing}")?,
            }
        }
    }
    forces(f, &decision.forces)?;
    holding(f, &decision.holding)?;
    writeln!(f, "\nWhat still brakes, of all there is")?;
    for commanded in decision.effects.iter().chain(&decision.elsewhere) {
        effect(f, commanded)?;
    }
    losses(f, decision)
}

fn checks(f: &mut fmt::Formatter<'_>, decision: &Decision) -> fmt::Result {
    if !decision.checks.is_empty() {
        writeln!(f, "\nTo be checked before this is acted on")?;
    }
    for check in &decision.checks {
        writeln!(f, "  [ ] {} [{}]", check.text, check.source)?;
    }
    Ok(())
}

/// Braked weights from forces, and what a stop asks of adhesion and discs at most.
fn forces(f: &mut fmt::Formatter<'_>, found: &Result<Forces, Missing>) -> fmt::Result {
    writeln!(f, "\nBy forces: braked weight of what is assessed")?;
    let forces = match found {
        Ok(forces) => forces,
        Err(missing) => return writeln!(f, "  {missing}"),
    };
    for of in &forces.braked_weights {
        let assessed = of
            .assessed
            .map_or("nothing".into(), |weight| weight.to_string());
        let found = of.from_forces.value;
        writeln!(
            f,
            "  {} revision {}: {found} of {assessed}",
            of.car_type, of.revision
        )?;
    }
    writeln!(f, "\nAdhesion and heat of a stop")?;
    match &forces.limits {
        Ok(worked) => steps(f, &worked.steps),
        Err(missing) => writeln!(f, "  {missing}"),
    }
}

/// What is lost or drags now, mode by mode, by its causes.
fn losses(f: &mut fmt::Formatter<'_>, decision: &Decision) -> fmt::Result {
    let mut by_cause: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for commanded in &decision.effects {
        if commanded.effect.supply == Supply::Exhausted {
            continue;
        }
        for actuator in &commanded.effect.actuators {
            if !actuator.is_amiss_in(commanded.effect.mode) {
                continue;
            }
            let causes: Vec<String> = actuator.why.iter().map(cause).collect();
            let mode = commanded.effect.mode;
            let key = format!("{mode}: {} by {}", actuator.availability, causes.join(", "));
            let name = format!("{} {}", actuator.car_number, actuator.position);
            by_cause.entry(key).or_default().push(name);
        }
    }
    if by_cause.is_empty() {
        return writeln!(f, "  nothing is lost, and nothing drags");
    }
    for (cause, actuators) in by_cause {
        writeln!(f, "  {cause}: {}", actuators.join("; "))?;
    }
    Ok(())
}

/// A cause in words. What ends at an end of its car is no fault of the position there.
fn cause(cause: &Cause) -> String {
    let (car, at, matter) = (&cause.car_number, &cause.position, cause.kind);
    match matter {
        CauseKind::NothingComesInBy(_) => format!("car {car} ({matter})"),
        CauseKind::CutOut(_)
        | CauseKind::Vacant
        | CauseKind::Incomplete
        | CauseKind::OpenEnd
        | CauseKind::NotCounted
        | CauseKind::NothingFeedsIt
        | CauseKind::AirKeepsItReleased => format!("car {car} {at} ({matter})"),
    }
}

fn verdict(f: &mut fmt::Formatter<'_>, answer: &RuleSetAnswer) -> fmt::Result {
    let name = format!("{} revision {}", answer.name, answer.revision);
    match &answer.verdict {
        Err(missing) => writeln!(f, "\nNO VERDICT by {name}: {missing}"),
        Ok(worked) => {
            let Verdict {
                permission,
                restrictions,
                cautions,
                ..
            } = &worked.value;
            writeln!(f, "\n{} by {name}", permission.headline().to_uppercase())?;
            imposed(f, *permission, restrictions)?;
            if let Some(later) = answer.later_in_full() {
                writeln!(f, "  ! {later}.")?;
            }
            steps(f, &worked.steps)?;
            cautions
                .iter()
                .try_for_each(|caution| writeln!(f, "  ! {caution}"))
        }
    }
}

/// How the train may run; of one that may not, only what must be done and who must be told.
fn imposed(f: &mut fmt::Formatter<'_>, permission: Permission, imposed: &Imposed) -> fmt::Result {
    let mut all: Vec<(&str, String)> = Vec::new();
    if permission != Permission::MayNotRun {
        let speed = imposed.speed.as_ref();
        let (passengers, distance) = (imposed.passengers, imposed.distance_max);
        let cab = imposed.cab;
        let destination = imposed.destination.as_ref();
        all.extend(speed.map(|cap| ("speed", format!("at most {cap}"))));
        all.extend(passengers.map(|passengers| ("passengers", passengers.to_string())));
        all.extend(cab.map(|cab| ("cab", format!("drive from the {cab}"))));
        all.extend(distance.map(|distance| ("how far", format!("at most {distance:.0}"))));
        all.extend(destination.map(|to| ("where to", format!("{}: {}", to.kind, to.words))));
    }
    all.extend(imposed.conditions.iter().map(|also| ("also", also.clone())));
    let tell = imposed.tell.join("; ");
    all.extend((!tell.is_empty()).then_some(("tell", tell)));
    for (what, text) in all {
        writeln!(f, "  {what:<12} {text}")?;
    }
    Ok(())
}

fn steps(f: &mut fmt::Formatter<'_>, steps: &[Step]) -> fmt::Result {
    for step in steps {
        writeln!(f, "  - {}: {} [{}]", step.what, step.working, step.source)?;
    }
    Ok(())
}

fn percentage(
    f: &mut fmt::Formatter<'_>,
    when: &str,
    found: &Result<
        domain::worked::Worked<domain::isolation::brake_percentage::BrakePercentage>,
        Missing,
    >,
) -> fmt::Result {
    match found {
        Ok(worked) => {
            writeln!(
                f,
                "  {when}: {}, {}",
                worked.value.before, worked.value.after
            )?;
            steps(f, &worked.steps)
        }
        Err(missing) => writeln!(f, "  {when}: {missing}"),
    }
}

fn holding(f: &mut fmt::Formatter<'_>, found: &Result<Holding, Missing>) -> fmt::Result {
    write!(
        f,
        "\nGradient that the spring-applied brakes keep, before and after: "
    )?;
    match found {
        Ok(holding) => {
            writeln!(f, "{}, {}", holding.before.value, holding.after.value)?;
            steps(f, &holding.after.steps)
        }
        Err(missing) => writeln!(f, "{missing}"),
    }
}

fn effect(f: &mut fmt::Formatter<'_>, commanded: &CommandedEffect) -> fmt::Result {
    let effect = &commanded.effect;
    let counts = &effect.counts;
    let from = commanded.from.as_ref();
    let from = from.map_or(String::new(), |car| format!(" from car {car}"));
    writeln!(
        f,
        "  {}{from}, {}: actuators {} of {}, axles {} of {}, bogies {} of {}, cars {} of {}",
        effect.mode,
        effect.supply,
        counts.actuators.available,
        counts.actuators.total,
        counts.axles.operative,
        counts.axles.total,
        counts.bogies.operative,
        counts.bogies.total,
        counts.cars.operative,
        counts.cars.total,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use domain::circuit::End;

    #[test]
    fn what_ends_at_an_end_of_its_car_names_no_position() {
        let told = |kind| {
            cause(&Cause {
                car: 1,
                car_number: "4102".parse().expect("a number"),
                position: "=E-X1".parse().expect("a code"),
                kind,
            })
        };
        assert_eq!(
            told(CauseKind::NothingComesInBy(End::End2)),
            "car 4102 (end 2: no pipe or wire of the coupled car meets this one)"
        );
        assert_eq!(
            told(CauseKind::Vacant),
            "car 4102 =E-X1 (no component fitted)"
        );
    }
}
