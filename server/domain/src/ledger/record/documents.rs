//! Design data: parts, tasks and car types. A document in force is never changed; another
//! content takes another revision.

use super::plausible::check_plausible;
use super::{assemblies, baselines, settings};
use crate::circuit::compiled::CompiledCircuit;
use crate::configuration::car_type::CarType;
use crate::configuration::part::Part;
use crate::due::task::{AppliesTo, Task, TaskKind};
use crate::identity::TaskCode;
use crate::ledger::dossier::{Documents, Dossier, InForce};
use crate::ledger::entry::{Entry, Seq};
use crate::refusal::Refusal;
use crate::rule_set::RuleSet;
use crate::test_record::procedure::Procedure;
use std::sync::Arc;

const NEW_REVISION: &str = "give it a new revision";

pub(super) fn check_part(dossier: &Dossier, part: &Part) -> Result<(), Refusal> {
    match dossier.documents.parts.get(&part.number) {
        None => {
            baselines::check_history(&dossier.documents, part)?;
            assemblies::check_positions(&dossier.documents, part)
        }
        Some(known) => Err(Refusal::AlreadyDefined {
            what: "part",
            name: part.number.to_string(),
            by: known.by,
            allowed: "give it a part number of its own",
        }),
    }
}

pub(super) fn fold_part(dossier: &mut Dossier, by: Seq, part: &Part) {
    let documents = Arc::make_mut(&mut dossier.documents);
    documents.put_part(by, Arc::new(part.clone()));
    dossier.changes.documents.push(by);
}

pub(super) fn check_task(dossier: &Dossier, task: &Task) -> Result<(), Refusal> {
    let documents = &dossier.documents;
    if let Some(by) = documents.task_revision(&task.code, &task.revision) {
        return Err(Refusal::AlreadyDefined {
            what: "task",
            name: format!("{} revision {}", task.code, task.revision),
            by,
            allowed: NEW_REVISION,
        });
    }
    check_meant(task)?;
    check_applies_to(documents, &task.applies_to)?;
    match documents.tasks.get(&task.code) {
        None => Ok(()),
        Some(known) => check_same_work(&known.document, task),
    }
}

/// A revision changes when work is due, never what it is: work that was due on something else would be
/// due no more, and work done of one kind would count for another.
fn check_same_work(before: &Task, task: &Task) -> Result<(), Refusal> {
    let refuse = |field, given: String, allowed: String| {
        Err(Refusal::Impossible {
            field,
            given: format!("{given} of task {}", task.code),
            allowed: format!(
                "{allowed}, as in revision {}: work that is another takes a task of its own",
                before.revision
            ),
        })
    };
    if task.applies_to != before.applies_to {
        let field = match task.applies_to {
            AppliesTo::Part(_) => "part",
            AppliesTo::CarType(_) => "car_type",
        };
        return refuse(field, on(&task.applies_to), on(&before.applies_to));
    }
    if task.kind != before.kind {
        return refuse("kind", task.kind.to_string(), before.kind.to_string());
    }
    Ok(())
}

fn on(applies_to: &AppliesTo) -> String {
    match applies_to {
        AppliesTo::Part(part) => format!("part {part}"),
        AppliesTo::CarType(name) => format!("car type {name}"),
    }
}

/// Checks that a task says nothing that cannot be meant.
fn check_meant(task: &Task) -> Result<(), Refusal> {
    let refuse = |field, given: String, allowed: &str| {
        Err(Refusal::Impossible {
            field,
            given: format!("{given} of task {}", task.code),
            allowed: allowed.to_owned(),
        })
    };
    if task.satisfies.contains(&task.code) {
        let given = "the task itself".to_owned();
        return refuse("satisfies", given, "other tasks, or none");
    }
    if let (AppliesTo::Part(part), Some(one)) = (&task.applies_to, task.obligations.first()) {
        let given = format!("{one} of part {part}");
        let allowed = "none: what is touched on a car makes tasks of the car due at once";
        return refuse("obligations", given, allowed);
    }
    for limit in &*task.limits {
        let metric = limit.interval.metric();
        if task.kind == TaskKind::LifeLimit && limit.late != 0 {
            let given = format!("{metric} with a late tolerance");
            return refuse("limits", given, "none: a life limit is never late");
        }
        if limit.interval.shortest() <= limit.early {
            let given = format!("{metric} with an early tolerance as long as the interval");
            return refuse("limits", given, "a tolerance below the interval");
        }
    }
    Ok(())
}

/// Checks that the tasks that would count as done with one that people propose are there. Of what is
/// brought in, that is looked up in all that the input lists.
pub(super) fn check_satisfied(documents: &Documents, task: &Task) -> Result<(), Refusal> {
    let known = |code: &TaskCode| *code == task.code || documents.tasks.contains_key(code);
    match task.satisfies.iter().find(|code| !known(code)) {
        None => Ok(()),
        Some(code) => Err(Refusal::Unknown {
            what: "task",
            name: code.to_string(),
        }),
    }
}

fn check_applies_to(documents: &Documents, applies_to: &AppliesTo) -> Result<(), Refusal> {
    let (what, name, known) = match applies_to {
        AppliesTo::Part(part) => ("part", part.to_string(), documents.parts.contains_key(part)),
        AppliesTo::CarType(name) => {
            let known = documents.car_types.keys().any(|(known, _)| known == name);
            ("car_type", name.to_string(), known)
        }
    };
    if known {
        Ok(())
    } else {
        Err(Refusal::Unknown { what, name })
    }
}

pub(super) fn fold_task(dossier: &mut Dossier, entry: &Entry, task: &Task) {
    let replaced = dossier.documents.tasks.get(&task.code);
    let replaced = replaced.map(|known| known.document.applies_to.clone());
    dossier.changes.stale_subjects.extend(replaced);
    dossier.changes.stale_subjects.push(task.applies_to.clone());
    Arc::make_mut(&mut dossier.documents).put_task(
        entry.seq,
        entry.effective_at,
        Arc::new(task.clone()),
    );
    dossier.changes.documents.push(entry.seq);
}

pub(super) fn check_procedure(dossier: &Dossier, procedure: &Procedure) -> Result<(), Refusal> {
    let key = (procedure.code.clone(), procedure.revision.clone());
    if let Some(known) = dossier.documents.procedures.get(&key) {
        return Err(Refusal::AlreadyDefined {
            what: "procedure",
            name: format!("{} revision {}", procedure.code, procedure.revision),
            by: known.by,
            allowed: NEW_REVISION,
        });
    }
    check_applies_to(&dossier.documents, &procedure.applies_to)?;
    check_measured_at(&dossier.documents, procedure)?;
    match &procedure.task {
        Some(task) => check_tested(&dossier.documents, task, &procedure.applies_to),
        None => Ok(()),
    }
}

/// What is measured on a car is measured at positions that a revision of its type has.
fn check_measured_at(documents: &Documents, procedure: &Procedure) -> Result<(), Refusal> {
    let AppliesTo::CarType(name) = &procedure.applies_to else {
        return Ok(());
    };
    let mut named = procedure.measurands.iter().flat_map(|it| &it.measured_at);
    named.try_for_each(|code| {
        documents
            .has_position(name, code)
            .map_err(|allowed| Refusal::Impossible {
                field: "measured_at",
                given: code.to_string(),
                allowed,
            })
    })
}

/// A test belongs to a task on the same thing.
fn check_tested(
    documents: &Documents,
    code: &TaskCode,
    applies_to: &AppliesTo,
) -> Result<(), Refusal> {
    let unknown = || Refusal::Unknown {
        what: "task",
        name: code.to_string(),
    };
    let task = documents.tasks.get(code).ok_or_else(unknown)?;
    if task.document.applies_to == *applies_to {
        return Ok(());
    }
    Err(Refusal::Impossible {
        field: "task",
        given: code.to_string(),
        allowed: "a task on the part or car type that is tested".into(),
    })
}

pub(super) fn fold_procedure(dossier: &mut Dossier, by: Seq, procedure: &Procedure) {
    let key = (procedure.code.clone(), procedure.revision.clone());
    let in_force = InForce {
        by,
        document: Arc::new(procedure.clone()),
    };
    Arc::make_mut(&mut dossier.documents)
        .procedures
        .insert(key, in_force);
    dossier.changes.documents.push(by);
}

pub(super) fn check_rule_set(dossier: &Dossier, rules: &RuleSet) -> Result<(), Refusal> {
    let key = (rules.name.clone(), rules.revision.clone());
    if let Some(known) = dossier.documents.rule_sets.get(&key) {
        return Err(Refusal::AlreadyDefined {
            what: "rule_set",
            name: format!("{} revision {}", rules.name, rules.revision),
            by: known.by,
            allowed: NEW_REVISION,
        });
    }
    let faults: Vec<String> = rules.check().iter().map(ToString::to_string).collect();
    if faults.is_empty() {
        return Ok(());
    }
    let given = format!("{} revision {}", rules.name, rules.revision);
    Err(Refusal::Impossible {
        field: "rule_set",
        given,
        allowed: faults.join("; "),
    })
}

pub(super) fn fold_rule_set(dossier: &mut Dossier, by: Seq, rules: &RuleSet) {
    let key = (rules.name.clone(), rules.revision.clone());
    let in_force = InForce {
        by,
        document: Arc::new(rules.clone()),
    };
    Arc::make_mut(&mut dossier.documents)
        .rule_sets
        .insert(key, in_force);
    dossier.changes.documents.push(by);
}

pub(super) fn check_car_type(dossier: &Dossier, car_type: &CarType) -> Result<(), Refusal> {
    let key = (car_type.name.clone(), car_type.revision.clone());
    if let Some(known) = dossier.documents.car_types.get(&key) {
        return Err(Refusal::AlreadyDefined {
            what: "car_type",
            name: format!("{} revision {}", car_type.name, car_type.revision),
            by: known.by,
            allowed: NEW_REVISION,
        });
    }
    check_plausible(car_type)?;
    for position in &car_type.positions {
        if car_type
            .positions
            .iter()
            .filter(|other| other.code == position.code)
            .count()
            > 1
        {
            return Err(Refusal::Impossible {
                field: "position",
                given: position.code.to_string(),
                allowed: "each position code once in a car type".into(),
            });
        }
        let documents = &dossier.documents;
        assemblies::check_approved(documents, &position.approved, position.kind)?;
        baselines::check_states(documents, (&position.approved, &position.states))?;
        settings::check_declared(position)?;
        assemblies::check_place(documents, car_type, position)?;
    }
    if let Err(faults) = CompiledCircuit::new(car_type) {
        let faults: Vec<String> = faults.iter().map(ToString::to_string).collect();
        let given = format!("{} revision {}", car_type.name, car_type.revision);
        return Err(Refusal::Impossible {
            field: "circuit",
            given,
            allowed: faults.join("; "),
        });
    }
    Ok(())
}

pub(super) fn fold_car_type(dossier: &mut Dossier, by: Seq, car_type: &CarType) {
    Arc::make_mut(&mut dossier.documents).put_car_type(by, Arc::new(car_type.clone()));
    dossier.changes.documents.push(by);
    // It may be the first that says of which kind a place is.
    if dossier.documents.opens_obligations(&car_type.name) {
        let cars = AppliesTo::CarType(car_type.name.clone());
        dossier.changes.stale_subjects.push(cars);
    }
}
