//! What is doubtful about what goes on a car or into an assembly, to be seen before it does.

use super::DueWork;
use crate::configuration::certificate::{Certificate, Left, LifeLeft};
use crate::configuration::component::{ComponentRef, Condition};
use crate::configuration::location::LocationKind;
use crate::identity::{LocationName, ModificationNumber, ModificationState, PersonName};
use crate::ledger::certified::certificate;
use crate::ledger::dossier::{Concerned, Dossier, Whereabouts};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::time::{Day, Instant};
use serde::{Deserialize, Serialize};
use std::cmp::Reverse;
use std::fmt;

/// A doubt about a component that is fitted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Doubt {
    /// The component.
    pub component: ComponentRef,
    /// Why.
    pub why: DoubtKind,
}

/// What is doubtful about it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DoubtKind {
    /// Another component of its part is fitted whose serial number differs only in case, blanks
    /// and hyphens: the two may be one.
    Alike(ComponentRef),
    /// An open check of the fleet looks for it.
    LookedFor(Seq),
    /// By its certificate something is left for less long than the register finds, or no longer.
    Certificate {
        /// The certificate's number.
        number: String,
        /// The entry that it came with.
        by: Seq,
        /// What it says.
        said: LifeLeft,
        /// When the register finds the work due, where it finds a date.
        found: Option<Day>,
    },
    /// It comes from where nothing is fitted from: another may be meant.
    KeptAway {
        /// The location where it is kept.
        location: LocationName,
        /// What that is.
        kind: LocationKind,
        /// Since which day.
        since: Day,
        /// The entry that says so.
        by: Seq,
    },
    /// A modification was issued that is not embodied in it.
    Campaign {
        /// Which.
        modification: ModificationNumber,
        /// The last day of that.
        last: Day,
        /// The day on which it is fitted.
        fitted_on: Day,
        /// Its modification state, where that is known.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        state: Option<ModificationState>,
    },
    /// It was quarantined, or worse, before it was judged otherwise, and that was told only after: the
    /// judgement stands.
    JudgedBefore {
        /// The condition that was told after.
        told: Condition,
        /// From which day.
        since: Day,
        /// As what it was judged.
        judged: Condition,
        /// When.
        on: Day,
        /// The entry that says so.
        by: Seq,
        /// Who recorded that.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        judged_by: Option<PersonName>,
        /// The entry that told the condition; none of the doubt that it raises itself.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        told_by: Option<Seq>,
    },
    /// It left an assembly that is, or was then, quarantined or worse, and one of both was told only
    /// after the other.
    LeftHeld {
        /// The assembly.
        assembly: ComponentRef,
        /// Its condition.
        condition: Condition,
        /// From which day.
        since: Day,
        /// When it left it; none where it was never inside it by what is told now.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        left: Option<Day>,
        /// The entry that raised the doubt; none of the doubt that it raises itself.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        told_by: Option<Seq>,
    },
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let component = &self.component;
        match &self.why {
            DoubtKind::Alike(other) => write!(
                f,
                "{component} may be {other}, which is fitted: look at both plates"
            ),
            DoubtKind::LookedFor(check) => {
                write!(f, "{component} is looked for by the check of {check}")
            }
            DoubtKind::Certificate {
                number,
                said,
                found,
                ..
            } => {
                write!(f, "{component} by certificate {number}: {said}; ")?;
                match found {
                    Some(day) => write!(f, "the register finds {day}"),
                    None => f.write_str("the register finds no date"),
                }
            }
            DoubtKind::KeptAway {
                location,
                kind,
                since,
                ..
            } => write!(
                f,
                "{component} is kept at {location} ({kind}) since {since}, from where nothing is fitted: look at its plate"
            ),
            DoubtKind::Campaign {
                modification,
                last,
                fitted_on,
                state,
            } => {
                let state = state
                    .as_ref()
                    .map_or("not known", ModificationState::as_str);
                write!(
                    f,
                    "{component}, modification state {state}, is still to have modification {modification}"
                )?;
                if last < fitted_on {
                    write!(f, ", whose last day {last} has passed: fit none without it")
                } else {
                    write!(f, " by {last}")
                }
            }
            told @ (DoubtKind::JudgedBefore { .. } | DoubtKind::LeftHeld { .. }) => {
                write_told(f, component, told)
            }
        }
    }
}

/// What is told only after somebody judged it or took it out.
fn write_told(
    f: &mut fmt::Formatter<'_>,
    component: &ComponentRef,
    why: &DoubtKind,
) -> fmt::Result {
    match why {
        DoubtKind::JudgedBefore {
            told,
            since,
            judged,
            on,
            by,
            judged_by,
            ..
        } => {
            write!(
                f,
                "{component} was {told} from {since} on, and the later judgement of {on}"
            )?;
            if let Some(person) = judged_by {
                write!(f, " by {person}")?;
            }
            write!(
                f,
                " ({by}) as {judged} stands: it was made without knowing of that; judge it again"
            )
        }
        DoubtKind::LeftHeld {
            assembly,
            condition,
            since,
            left,
            ..
        } => {
            match left {
                Some(left) if since <= left => write!(
                    f,
                    "{component} left {assembly} on {left}, which was {condition} from {since} on, as was told only after"
                )?,
                Some(left) => write!(
                    f,
                    "{component} left {assembly} on {left}, as is told only after that was {condition} from {since} on"
                )?,
                None => write!(
                    f,
                    "{component} was not inside {assembly}, as is told only after that was {condition} from {since} on"
                )?,
            }
            f.write_str(": judge it by itself")
        }
        _ => Ok(()),
    }
}

/// What is doubtful about what an entry fits by what is known of it: where it is kept, and which
/// modifications are not embodied in it. Linear in what is fitted, times the modifications.
pub fn of_fitting(dossier: &Dossier, entry: &Entry) -> Vec<Doubt> {
    let at = entry.effective_at;
    let mut doubts: Vec<Doubt> = kept_away(dossier, entry).into_iter().collect();
    for component in dossier.fitted_by(entry) {
        let mut places = dossier.fitments_of(&component);
        let place = places.find(|place| place.period().holds(at));
        let state = dossier.modification_at(&component, at);
        let concerned = Concerned {
            part: &component.part,
            condition: Condition::Serviceable,
            state,
            at: place.map(|place| &place.at),
        };
        let left = dossier.documents.campaigns_of(&concerned, at).into_iter();
        doubts.extend(left.map(|issued| Doubt {
            component: component.clone(),
            why: DoubtKind::Campaign {
                modification: issued.document.number.clone(),
                last: issued.document.by,
                fitted_on: dossier.zone.day_of(at),
                state: state.cloned(),
            },
        }));
    }
    doubts
}

/// Where what an entry fits was kept, if nothing is fitted from there.
fn kept_away(dossier: &Dossier, entry: &Entry) -> Option<Doubt> {
    let Fact::Fitted(fitting) = &entry.fact else {
        return None;
    };
    let at = entry.effective_at;
    let states = dossier.states_of(&fitting.component).iter();
    let before = states.filter(|state| state.by != entry.seq && state.since <= at);
    let mut places = before.filter(|state| state.whereabouts.is_some());
    let last = places.next_back()?;
    let Some(Whereabouts::Kept(kept)) = &last.whereabouts else {
        return None;
    };
    let (kind, _) = dossier.documents.location_kind(&kept.location, at)?;
    (!kind.is_fitted_from()).then(|| Doubt {
        component: fitting.component.clone(),
        why: DoubtKind::KeptAway {
            location: kept.location.clone(),
            kind,
            since: dossier.zone.day_of(last.since),
            by: last.by,
        },
    })
}

/// What the certificates among the entries of a component say that the register does not, as it is
/// fitted on a day: of each task and clock what was said last, unless the task was done since. What
/// is left by a meter is told where nothing was. Linear in the entries, times what they say is left.
pub fn of_papers(
    component: &ComponentRef,
    entries: &[Entry],
    on: Day,
    works: &[DueWork],
) -> Vec<Doubt> {
    let mut papers: Vec<(&Entry, &Certificate)> = entries
        .iter()
        .filter_map(|entry| Some((entry, certificate(entry)?)))
        .collect();
    papers.sort_by_key(|(entry, _)| Reverse((entry.effective_at, entry.seq)));
    let mut seen: Vec<&LifeLeft> = Vec::new();
    let mut doubts = Vec::new();
    for (entry, paper) in papers {
        for said in &paper.left {
            let later = seen.iter().any(|one| one.is_by_clock_of(said));
            if later || done_after(entries, said, entry.effective_at) {
                continue;
            }
            seen.push(said);
            let mut works = works.iter();
            let of_task =
                works.find(|work| work.component == *component && work.task.code == said.task);
            let found = of_task.and_then(|work| work.forecast.on);
            let doubtful = match said.left {
                Left::Until(day) => day < on || found.is_some_and(|found| day < found),
                Left::Run { amount, .. } => amount.0 <= 0,
            };
            if doubtful {
                doubts.push(Doubt {
                    component: component.clone(),
                    why: DoubtKind::Certificate {
                        number: paper.number.clone(),
                        by: entry.seq,
                        said: said.clone(),
                        found,
                    },
                });
            }
        }
    }
    doubts
}

fn done_after(entries: &[Entry], said: &LifeLeft, at: Instant) -> bool {
    let mut later = entries.iter().filter(|entry| at < entry.effective_at);
    later.any(|entry| matches!(&entry.fact, Fact::TaskDone { task, .. } if *task == said.task))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        text.parse().expect("a day")
    }

    fn told(why: DoubtKind) -> String {
        let component = ComponentRef {
            part: "DV/230".parse().expect("a part"),
            serial: "1".parse().expect("a serial"),
        };
        Doubt { component, why }.to_string()
    }

    #[test]
    fn a_campaign_is_told_more_strongly_after_its_last_day() {
        let fitted = |text, state: Option<&str>| {
            told(DoubtKind::Campaign {
                modification: "M-1".parse().expect("a number"),
                last: day("2026-11-20"),
                fitted_on: day(text),
                state: state.map(|state| state.parse().expect("a state")),
            })
        };
        assert_eq!(
            fitted("2026-11-20", Some("A")),
            "DV/230 serial 1, modification state A, is still to have modification M-1 by 2026-11-20"
        );
        assert_eq!(
            fitted("2026-11-21", None),
            "DV/230 serial 1, modification state not known, is still to have modification M-1, whose last day 2026-11-20 has passed: fit none without it"
        );
    }

    #[test]
    fn the_judgement_that_stands_is_named_by_its_entry() {
        let why = DoubtKind::JudgedBefore {
            told: Condition::Quarantined,
            since: day("2026-11-20"),
            judged: Condition::Serviceable,
            on: day("2026-11-22"),
            by: Seq(7),
            judged_by: None,
            told_by: Some(Seq(9)),
        };
        assert_eq!(
            told(why),
            "DV/230 serial 1 was quarantined from 2026-11-20 on, and the later judgement of 2026-11-22 (entry 7) as serviceable stands: it was made without knowing of that; judge it again"
        );
    }

    #[test]
    fn where_it_is_kept_is_told_with_what_that_is_and_since_when() {
        let why = DoubtKind::KeptAway {
            location: "Road".parse().expect("a location"),
            kind: LocationKind::InTransit,
            since: day("2026-11-20"),
            by: Seq(7),
        };
        let kind = LocationKind::InTransit;
        assert_eq!(
            told(why),
            format!(
                "DV/230 serial 1 is kept at Road ({kind}) since 2026-11-20, from where nothing is fitted: look at its plate"
            )
        );
    }
}
