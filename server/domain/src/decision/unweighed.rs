//! That nothing is known of the brake percentage, and for want of what. Rules that count axles give
//! their verdicts all the same, so that it is said beside them.

use crate::worked::{Missing, MissingFact};
use std::collections::{BTreeMap, BTreeSet};

/// Of so many things at most it is named that something is lacking of them.
const NAMED_MAX: usize = 8;

/// In one sentence, where there is no percentage.
pub(super) fn in_words<T>(percentage: Result<&T, &Missing>) -> Option<String> {
    let Missing(facts) = percentage.err()?;
    let mut lacking: BTreeMap<String, BTreeSet<&str>> = BTreeMap::new();
    for fact in facts {
        let (what, of) = told(fact);
        lacking.entry(what).or_default().insert(of);
    }
    let lacking: Vec<String> = lacking.iter().map(of_all).collect();
    Some(format!(
        "The brake percentage is not known, and no verdict rests on it. Missing is the {}.",
        lacking.join("; the ")
    ))
}

/// What is lacking, with its case, and of which car type: of its actuators once.
fn told(fact: &MissingFact) -> (String, &str) {
    let MissingFact { what, of } = fact;
    let Some((car_type, case)) = of.split_once(", ") else {
        return (what.clone(), of.as_str());
    };
    let case = match case.strip_prefix("actuator ") {
        Some(actuator) => actuator.split_once(", ").map_or("", |(_, case)| case),
        None => case,
    };
    match case {
        "" => (what.clone(), car_type),
        case => (format!("{what} ({case})"), car_type),
    }
}

/// "mass (normal load) of car type A revision 1, B revision 1".
fn of_all((what, all): (&String, &BTreeSet<&str>)) -> String {
    let bare = |of: &&str| of.strip_prefix("car type ").unwrap_or(of).to_owned();
    let first = all.iter().take(1).map(|of| (*of).to_owned());
    let others = all.iter().skip(1).map(bare);
    let mut named: Vec<String> = first.chain(others).take(NAMED_MAX).collect();
    if NAMED_MAX < all.len() {
        named.push(format!("and {} more", all.len() - NAMED_MAX));
    }
    format!("{what} of {}", named.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn weight(car_type: &str, actuator: &str) -> MissingFact {
        MissingFact {
            what: "braked weight".to_owned(),
            of: format!(
                "car type {car_type} revision 1, actuator {actuator}, brake position G, normal load"
            ),
        }
    }

    #[test]
    fn what_is_lacking_of_many_actuators_is_told_once() {
        let mass = MissingFact {
            what: "mass".to_owned(),
            of: "car type B revision 1, normal load".to_owned(),
        };
        let weights = [("A", "=BS1-C1"), ("A", "=BS1-C2"), ("B", "=BS1-C1")];
        let weights = weights.map(|(car_type, actuator)| weight(car_type, actuator));
        let missing = Missing(weights.into_iter().chain([mass]).collect());
        let told = in_words::<()>(Err(&missing));
        let expected = "The brake percentage is not known, and no verdict rests on it. Missing is the \
                        braked weight (brake position G, normal load) of car type A revision 1, \
                        B revision 1; the mass (normal load) of car type B revision 1.";
        assert_eq!(told.as_deref(), Some(expected));
        assert_eq!(in_words(Ok(&())), None);
    }

    #[test]
    fn of_many_the_first_are_named_and_the_others_counted() {
        let types = ["A", "B", "C", "D", "E", "F", "G", "H", "I", "J"];
        let missing = Missing(types.map(|name| weight(name, "=BS1-C1")).into());
        let told = in_words::<()>(Err(&missing)).expect("a sentence");
        assert!(told.ends_with("H revision 1, and 2 more."), "{told}");
        let circuit = Missing::one("circuit", "car type A revision 1");
        let told = in_words::<()>(Err(&circuit)).expect("a sentence");
        assert!(
            told.ends_with("Missing is the circuit of car type A revision 1."),
            "{told}"
        );
    }
}
