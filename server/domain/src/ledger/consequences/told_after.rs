//! What is told only afterwards: a quarantine of a time before somebody judged, and that an
//! assembly was quarantined when something had left it. Whoever judged or took it out did not
//! know of it, so that is to be judged again.

use super::{Doubt, DoubtKind};
use crate::configuration::component::{ComponentRef, Condition};
use crate::configuration::part::LEVELS_MAX;
use crate::identity::PersonName;
use crate::ledger::dossier::{ComponentState, Dossier, FitmentEnd, OwnFitment, Period};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::ledger::subjects::moved;
use crate::time::Instant;
use std::collections::BTreeMap;

/// A doubt that an entry raised and that stands, since nobody judged its component again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RaisedDoubt {
    /// The doubt.
    pub doubt: Doubt,
    /// The entry that raised it.
    pub by: Seq,
    /// When that is effective: who judges the component at that time or later answers it.
    pub since: Instant,
}

/// Who answers a doubt that an entry raised.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AnsweredBy {
    /// Whoever judges the component.
    One,
    /// Two people, as a release from quarantine: it was quarantined itself.
    Two,
    /// Nobody who judges it better than this: it was beyond salvage, or scrapped.
    Ending(Condition),
}

/// The doubts that an entry raises by what it tells, once it is folded. They last until somebody
/// judges the component again. What is told together with it, from a first entry on, was known to
/// whoever tells it. Linear in what is said of what it names, and in what was ever inside that.
pub fn raised(dossier: &Dossier, (entry, first): (&Entry, Seq)) -> Vec<Doubt> {
    let mut doubts: BTreeMap<ComponentRef, DoubtKind> = BTreeMap::new();
    for held in told_held(dossier, entry) {
        if let Some(why) = judged_before(dossier, (entry, first), &held) {
            doubts.insert(held.component.clone(), why);
        }
        for (component, why) in left_since(dossier, first, &held) {
            doubts.entry(component).or_insert(why);
        }
    }
    for (component, why) in taken_out_before(dossier, (entry, first)) {
        doubts.entry(component).or_insert(why);
    }
    let wrong = entry.corrects.and_then(|seq| dossier.corrected.get(&seq));
    // What was answered since is in doubt no more when the entry that raised it is corrected.
    let answered = |component: &ComponentRef| {
        wrong.is_some_and(|(wrong, _)| {
            raises(wrong, component) && judged_between(dossier, component, (wrong, entry))
        })
    };
    let doubts = doubts.into_iter();
    let doubts = doubts.filter(|(component, _)| !answered(component));
    doubts
        .map(|(component, why)| Doubt { component, why })
        .collect()
}

/// Whether an entry raised a doubt about a component.
fn raises(entry: &Entry, component: &ComponentRef) -> bool {
    let told = entry.consequences.iter();
    let mut doubts = told.flat_map(|told| &told.doubts);
    doubts.any(|doubt| doubt.is_raised() && doubt.component == *component)
}

/// Whether somebody judged a component by itself after one entry told something of it, and before
/// another does.
fn judged_between(
    dossier: &Dossier,
    component: &ComponentRef,
    (told, now): (&Entry, &Entry),
) -> bool {
    let mut states = dossier.states_of(component).iter();
    states.any(|state| {
        let by_itself = state.condition.is_some() && state.whereabouts.is_none();
        let between = told.seq < state.by && state.by < now.seq;
        by_itself && between && told.effective_at <= state.since
    })
}

impl Doubt {
    /// The judgement that stands though something of a time before it was told after, if that is it.
    pub fn judgement(&self) -> Option<Seq> {
        match &self.why {
            DoubtKind::JudgedBefore { by, .. } => Some(*by),
            _ => None,
        }
    }

    /// Says who recorded that judgement.
    pub fn note_judged_by(&mut self, person: PersonName) {
        if let DoubtKind::JudgedBefore { judged_by, .. } = &mut self.why {
            *judged_by = Some(person);
        }
    }

    /// Whether the entry with which it is kept raises it: it lasts until somebody judges again.
    pub fn is_raised(&self) -> bool {
        match &self.why {
            DoubtKind::JudgedBefore { told_by, .. } | DoubtKind::LeftHeld { told_by, .. } => {
                told_by.is_none()
            }
            _ => false,
        }
    }

    /// Who answers it.
    pub fn answered_by(&self) -> AnsweredBy {
        match &self.why {
            DoubtKind::JudgedBefore {
                told: Condition::Quarantined,
                ..
            } => AnsweredBy::Two,
            DoubtKind::JudgedBefore { told, .. } => AnsweredBy::Ending(*told),
            _ => AnsweredBy::One,
        }
    }

    /// The same as another entry than that which raised it tells it.
    #[must_use]
    pub fn raised_by(mut self, entry: Seq) -> Self {
        if let DoubtKind::JudgedBefore { told_by, .. } | DoubtKind::LeftHeld { told_by, .. } =
            &mut self.why
        {
            *told_by = Some(entry);
        }
        self
    }
}

/// A component of which an entry says that it was quarantined, or worse.
struct Told<'a> {
    component: &'a ComponentRef,
    condition: Condition,
    state: &'a ComponentState,
    /// The entry that it corrects, where that said so already, and since when.
    before: Option<(&'a Entry, Instant)>,
}

fn told_held<'a>(dossier: &'a Dossier, entry: &Entry) -> Vec<Told<'a>> {
    let wrong = entry.corrects.and_then(|seq| dossier.corrected.get(&seq));
    let said = dossier.changes.states.iter();
    let said = said.filter(|(_, by)| *by == entry.seq);
    let told = said.filter_map(|(component, by)| {
        let mut states = dossier.states_of(component).iter();
        let state = states.find(|state| state.by == *by)?;
        let condition = state.condition.filter(|is| is.stays_held())?;
        let before = wrong.and_then(|(wrong, _)| Some((wrong, said_held(wrong, component)?)));
        Some(Told {
            component,
            condition,
            state,
            before,
        })
    });
    told.collect()
}

/// Since when a component is quarantined, or worse, by an entry, if that says so.
fn said_held(entry: &Entry, of: &ComponentRef) -> Option<Instant> {
    let (component, condition, since) = match &entry.fact {
        Fact::ConditionJudged {
            component,
            condition,
            ..
        } => (component, condition, entry.effective_at),
        Fact::Removed {
            component, removal, ..
        } => (component, &removal.condition, entry.effective_at),
        Fact::ComponentReceived(it) => (&it.component, &it.condition, entry.effective_at),
        Fact::Fitted(fitting) => {
            let ended = fitting.ended.as_ref()?;
            (&fitting.component, &ended.removal.condition, ended.at)
        }
        _ => return None,
    };
    (component == of && condition.stays_held()).then_some(since)
}

/// The last that was said of the condition of a component.
fn last_said<'a>(
    dossier: &'a Dossier,
    component: &ComponentRef,
) -> Option<(&'a ComponentState, Condition)> {
    let states = dossier.states_of(component).iter().rev();
    let mut said = states.filter_map(|state| Some((state, state.condition?)));
    said.next()
}

/// What was said before of a later time stands.
fn judged_before(
    dossier: &Dossier,
    (entry, first): (&Entry, Seq),
    held: &Told<'_>,
) -> Option<DoubtKind> {
    let (last, judged) = last_said(dossier, held.component)?;
    if first <= last.by || judged.stays_held() {
        return None;
    }
    // Who judged after the entry that is only corrected knew of it; and where that raised no doubt about
    // what was said before, so did they.
    let known = held.before.is_some_and(|(wrong, since)| {
        judged_between(dossier, held.component, (wrong, entry))
            || (since <= last.since && !raises(wrong, held.component))
    });
    if known {
        return None;
    }
    let day = |at| dossier.zone.day_of(at);
    Some(DoubtKind::JudgedBefore {
        told: held.condition,
        since: day(held.state.since),
        judged,
        on: day(last.since),
        by: last.by,
        judged_by: None,
        told_by: None,
    })
}

/// What had left an assembly from when it is told to have been held, and is still taken for sound.
fn left_since(dossier: &Dossier, first: Seq, held: &Told<'_>) -> Vec<(ComponentRef, DoubtKind)> {
    let since = held.state.since;
    let states = dossier.states_of(held.component).iter();
    let after = states.skip_while(|state| state.by != held.state.by).skip(1);
    let mut freed = after.filter(|state| state.condition.is_some_and(|is| !is.stays_held()));
    let over = Period {
        from: since,
        until: freed.next().map(|state| state.since),
    };
    let mut left = Vec::new();
    left_within(dossier, (held.component, over), 0, &mut left);
    let doubtful = left.into_iter().filter(|(own, end)| {
        let known = held
            .before
            .is_some_and(|(wrong, since)| since <= end.at && !raises(wrong, &own.component));
        end.by < first
            && !known
            && !is_inside(dossier, (&own.component, held.component), end.at)
            && taken_for_sound(dossier, &own.component)
    });
    let doubts = doubtful.map(|(own, end)| {
        let why = DoubtKind::LeftHeld {
            assembly: held.component.clone(),
            condition: held.condition,
            since: dossier.zone.day_of(since),
            left: Some(dossier.zone.day_of(end.at)),
            told_by: None,
        };
        (own.component.clone(), why)
    });
    doubts.collect()
}

fn taken_for_sound(dossier: &Dossier, component: &ComponentRef) -> bool {
    let last = last_said(dossier, component);
    last.is_some_and(|(_, condition)| condition == Condition::Serviceable)
}

fn is_inside(
    dossier: &Dossier,
    (component, assembly): (&ComponentRef, &ComponentRef),
    at: Instant,
) -> bool {
    let mut above = dossier.with_all_above(component, at).into_iter().skip(1);
    above.any(|one| one == *assembly)
}

/// What came out of an assembly, or of what was inside it, within a period.
fn left_within<'a>(
    dossier: &'a Dossier,
    (assembly, over): (&ComponentRef, Period),
    level: usize,
    left: &mut Vec<(&'a OwnFitment, &'a FitmentEnd)>,
) {
    for own in dossier.inside(assembly) {
        if let Some(end) = own.end.as_ref().filter(|end| over.holds(end.at)) {
            left.push((own, end));
        }
        if let Some(shared) = own.period().meet(over)
            && level + 1 < LEVELS_MAX
        {
            left_within(dossier, (&own.component, shared), level + 1, left);
        }
    }
}

/// What an entry tells to have left an assembly, or never to have been inside it, before the time
/// from which that is held, though it is told after that.
fn taken_out_before(
    dossier: &Dossier,
    (entry, first): (&Entry, Seq),
) -> Vec<(ComponentRef, DoubtKind)> {
    let wrong = entry.corrects.and_then(|seq| dossier.corrected.get(&seq));
    let wrong = wrong.map(|(wrong, _)| wrong);
    let mut doubts = Vec::new();
    for component in moved(&entry.fact) {
        let own = dossier.own_fitments_of(component);
        let out = own.filter_map(|own| {
            let end = own.end.as_ref().filter(|end| end.by == entry.seq)?;
            Some((own.at.assembly()?, end))
        });
        for (assembly, end) in out {
            for above in dossier.with_all_above(assembly, end.at) {
                let held = held_from(dossier, &above, first);
                let held = held.filter(|(since, by, _)| {
                    // That it had left by then was told before; only when, or why, is corrected.
                    let known = wrong.is_some_and(|wrong| {
                        let same = matches!(&wrong.fact, Fact::Removed { component: one, .. } if one == component);
                        same && wrong.seq < *by && wrong.effective_at < *since
                    });
                    end.at < *since && !known && !is_inside(dossier, (component, &above), *since)
                });
                doubts.extend(out_before(dossier, (component, &above), held, Some(end.at)));
            }
        }
    }
    if let Some((component, assembly, wrong)) = wrong.and_then(put_inside) {
        let goes_on = dossier.own_fitments_of(component);
        let mut goes_on = goes_on.filter(|own| own.at.assembly() == Some(assembly));
        if !goes_on.any(|own| own.fitted_by == entry.seq) {
            let held = held_from(dossier, assembly, first);
            let held = held.filter(|(since, by, _)| {
                wrong.seq < *by
                    && wrong.effective_at < *since
                    && !is_inside(dossier, (component, assembly), *since)
            });
            doubts.extend(out_before(dossier, (component, assembly), held, None));
        }
    }
    doubts
}

/// What an entry put inside an assembly.
fn put_inside(entry: &Entry) -> Option<(&ComponentRef, &ComponentRef, &Entry)> {
    match &entry.fact {
        Fact::Fitted(fitting) => Some((&fitting.component, fitting.at.assembly()?, entry)),
        Fact::Moved { component, to, .. } => Some((component, to.assembly()?, entry)),
        _ => None,
    }
}

/// From when on a component is held until now, by which entry before another.
fn held_from(
    dossier: &Dossier,
    component: &ComponentRef,
    before: Seq,
) -> Option<(Instant, Seq, Condition)> {
    let states = dossier.states_of(component).iter().rev();
    let said = states.filter_map(|state| Some((state, state.condition?)));
    let held = said.take_while(|(_, condition)| condition.stays_held());
    let first = held.last();
    let (state, condition) = first.filter(|(state, _)| state.by < before)?;
    Some((state.since, state.by, condition))
}

fn out_before(
    dossier: &Dossier,
    (component, assembly): (&ComponentRef, &ComponentRef),
    held: Option<(Instant, Seq, Condition)>,
    left: Option<Instant>,
) -> Option<(ComponentRef, DoubtKind)> {
    let (since, _, condition) = held.filter(|_| taken_for_sound(dossier, component))?;
    let why = DoubtKind::LeftHeld {
        assembly: assembly.clone(),
        condition,
        since: dossier.zone.day_of(since),
        left: left.map(|at| dossier.zone.day_of(at)),
        told_by: None,
    };
    Some((component.clone(), why))
}
