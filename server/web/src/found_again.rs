//! What is found now for the moment of a past decision, in words.

use domain::configuration::car::Orientation;
use domain::ledger::consequences::{Certainty, FoundPart, Reconsidered, VerdictMoved};

/// What is found now, of which cars and by which rules where these are others, and what of it was found
/// already before the entry that tells it.
pub(crate) fn now(moved: &VerdictMoved) -> String {
    let mut words = found(&moved.now);
    if is_the_same_again(moved) {
        words.push_str("; the same again as when it was decided");
    }
    if !moved.others.is_empty() {
        words.push_str("; what differs: ");
        words.push_str(&named(&moved.others));
    }
    let cars = moved.cars.iter().map(|place| match place.orientation {
        Orientation::Forward => place.car.to_string(),
        Orientation::Reversed => format!("{} (reversed)", place.car),
    });
    let cars: Vec<String> = cars.collect();
    if !cars.is_empty() {
        words.push_str("; for cars ");
        words.push_str(&cars.join(", "));
    }
    if let Some(revision) = &moved.revision {
        words.push_str("; by the rules of revision ");
        words.push_str(revision.as_str());
    }
    if let Some(before) = before(moved) {
        words.push_str("; ");
        words.push_str(&before);
    }
    if moved.certainty == Certainty::Perhaps {
        words.push_str("; perhaps: if it was cut out by then, which nobody saw");
    }
    words
}

/// What was found before the entry, where entries before it had changed that already.
fn before(moved: &VerdictMoved) -> Option<String> {
    let before = moved.before.as_ref()?;
    if before.found != moved.now {
        return Some(format!("before this entry: {}", found(&before.found)));
    }
    let changed = named(&before.changed);
    Some(match before.changed.as_slice() {
        [] => "so already before this entry".to_owned(),
        _ if is_the_same_again(moved) => format!("what differed before this entry: {changed}"),
        _ => format!("so already before this entry, which changes {changed}"),
    })
}

fn is_the_same_again(moved: &VerdictMoved) -> bool {
    let same = matches!(&moved.now, Reconsidered::Found(found) if *found == moved.told);
    same && moved.others.is_empty()
}

fn found(found: &Reconsidered) -> String {
    match found {
        Reconsidered::Found(verdict) => verdict.to_string(),
        Reconsidered::NoAnswer(why) => why.clone(),
    }
}

fn named(parts: &[FoundPart]) -> String {
    let parts = parts.iter().map(|part| match part {
        FoundPart::Cars => "the cars",
        FoundPart::CutOuts => "the positions cut out",
        FoundPart::Brakes => "the brakes that work",
        FoundPart::Restrictions => "the restrictions",
        FoundPart::Rules => "the rules applied",
        FoundPart::Cautions => "the cautions",
    });
    parts.collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use domain::ledger::consequences::{FoundBefore, Verdict};
    use domain::ledger::entry::Seq;
    use domain::rule_set::verdict::Permission;

    fn verdict(speed_km_h: Option<u32>, cut_outs: usize) -> Verdict {
        Verdict {
            permission: Permission::WithRestrictions,
            speed_km_h,
            cut_outs,
            vacant: 0,
        }
    }

    /// A decision that found 64 km/h, of which something is found now.
    fn moved(now: Verdict, before: Option<FoundBefore>) -> VerdictMoved {
        VerdictMoved {
            decision: Seq(7),
            train: "T1".parse().unwrap(),
            at: "2026-11-25T12:00:00Z".parse().unwrap(),
            decided_by: "C. Controller".parse().unwrap(),
            told: verdict(Some(64), 1),
            now: Reconsidered::Found(now),
            before,
            others: Vec::new(),
            cars: Vec::new(),
            revision: None,
            certainty: Certainty::Certain,
        }
    }

    #[test]
    fn what_earlier_entries_moved_is_not_said_of_the_entry() {
        let milder = verdict(None, 0);
        let before = FoundBefore {
            found: Reconsidered::Found(milder.clone()),
            changed: vec![FoundPart::Cautions],
        };
        let words = now(&moved(milder.clone(), Some(before.clone())));
        let said = "; so already before this entry, which changes the cautions";
        assert_eq!(words, format!("{milder}{said}"));
        let words = now(&moved(verdict(Some(32), 2), Some(before)));
        assert!(
            words.ends_with(&format!("; before this entry: {milder}")),
            "{words}"
        );
        assert_eq!(now(&moved(milder.clone(), None)), milder.to_string());
        let rest = FoundBefore {
            found: Reconsidered::Found(verdict(Some(64), 1)),
            changed: vec![FoundPart::Rules],
        };
        let again = now(&moved(verdict(Some(64), 1), Some(rest)));
        assert!(again.contains("the same again as when it was decided"));
        assert!(again.ends_with("; what differed before this entry: the rules applied"));
    }
}
