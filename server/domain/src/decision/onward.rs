//! How the train may go on, in words that can be said over a radio: by all rule sets together, the
//! strictest deciding, with every restriction that they impose, and what becomes of it once stored
//! air is used up.

use super::{Decision, Urgency};
use crate::rule_set::verdict::{Imposed, Verdict};
use crate::worked::{Missing, Worked};
use serde::Serialize;

/// What is said once, after all cut-outs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Onward {
    /// How the train may go on.
    pub run: String,
    /// Who must be told.
    pub tell: String,
}

/// Who is told in any case (Regulation (EU) 2019/773, annex, 4.2.2.6 and 4.2.2.7, and common
/// practice).
const TELL: &str = "Tell the signaller and the controller; hand over to the next driver; put the \
     notice in both cabs.";

/// What several verdicts say together.
#[derive(Debug)]
struct Together {
    urgency: Urgency,
    imposed: Imposed,
}

impl Decision {
    /// How the train may go on, and who must be told. Restrictions of all rule sets hold together:
    /// whoever listens does not know by which of them it is decided.
    pub fn onward(&self) -> Onward {
        let strictest = self.strictest_first();
        let now = Together::of(strictest.iter().map(|answer| &answer.verdict));
        let later = Together::of(strictest.iter().map(|answer| {
            let later = answer.later.as_ref();
            later.map_or(&answer.verdict, |later| &later.verdict)
        }));
        let tell = match now.imposed.tell.as_slice() {
            [] => TELL.to_owned(),
            tell => format!("{TELL} By the rules also: {}.", tell.join("; ")),
        };
        Onward {
            run: format!("{}{}{}", now.run(), now.then(&later), now.besides(&later)),
            tell,
        }
    }
}

impl Together {
    fn of<'v>(
        verdicts: impl Iterator<Item = &'v Result<Worked<Verdict>, Missing>> + Clone,
    ) -> Self {
        let urgency = verdicts.clone().map(Urgency::of).min();
        let known = verdicts.filter_map(|verdict| verdict.as_ref().ok());
        let imposed = known.map(|worked| worked.value.restrictions.clone());
        Self {
            urgency: urgency.unwrap_or(Urgency::NoVerdict),
            imposed: imposed.fold(Imposed::default(), Imposed::and),
        }
    }

    fn run(&self) -> String {
        match self.urgency {
            Urgency::MayNotRun => "Do not move.".to_owned(),
            Urgency::NoVerdict => "Do not move: there is no verdict.".to_owned(),
            Urgency::MayRun => "It may go on.".to_owned(),
            Urgency::WithRestrictions => {
                format!("It may go on with restrictions.{}", self.restrictions())
            }
        }
    }

    /// What holds once stored air is used up, where that is something else and the train may go on
    /// until then.
    fn then(&self, later: &Self) -> String {
        let same = later.urgency == self.urgency && later.restrictions() == self.restrictions();
        if self.urgency <= Urgency::NoVerdict || same {
            return String::new();
        }
        match later.urgency {
            Urgency::MayNotRun => " Once stored air is used up, it may not run.".to_owned(),
            Urgency::NoVerdict => " Once stored air is used up, there is no verdict: it may not \
                 run."
                .to_owned(),
            Urgency::MayRun => " Once stored air is used up, it may still go on.".to_owned(),
            Urgency::WithRestrictions => format!(
                " Once stored air is used up, it may go on only so:{}",
                later.restrictions()
            ),
        }
    }

    /// What other rules ask beside one by which the train may not run, now or later: every restriction. It
    /// is no part of that verdict, and it is not kept from whoever stands by the train.
    fn besides(&self, later: &Self) -> String {
        let stops = |one: &Self| one.urgency <= Urgency::NoVerdict;
        let said = if stops(self) {
            Vec::new()
        } else {
            self.sentences()
        };
        let stopped = if stops(self) { self } else { later };
        if !stops(stopped) {
            return String::new();
        }
        let mut asked = stopped.sentences();
        asked.retain(|text| !said.contains(text));
        if asked.is_empty() {
            return String::new();
        }
        format!(
            " Apart from that, other rules ask, while it stands and for any move that is authorised all \
             the same: {}",
            asked.join(" ")
        )
    }

    /// All restrictions, each after a blank.
    fn restrictions(&self) -> String {
        let mut said = String::new();
        for text in self.sentences() {
            said.extend([" ", text.as_str()]);
        }
        said
    }

    /// Each restriction in a sentence.
    fn sentences(&self) -> Vec<String> {
        let imposed = &self.imposed;
        let speed = imposed.speed.as_ref().map(|cap| {
            let speed = cap.whole_km_h();
            format!("Not faster than {:.0} kilometres an hour.", speed.0)
        });
        let passengers = imposed.passengers.map(|p| format!("Passengers: {p}."));
        let cab = imposed.cab.map(|cab| format!("Drive it from the {cab}."));
        let distance = imposed.distance_max.map(|distance| {
            // A restriction is never rounded up.
            let kilometres = (distance.0 / 100.0).floor() / 10.0;
            format!("Not further than {kilometres:.1} kilometres.")
        });
        let destination = imposed.destination.as_ref();
        let destination =
            destination.map(|to| format!("No further than: {}, {}.", to.kind, sentence(&to.words)));
        let conditions = imposed.conditions.iter();
        let conditions = conditions.map(|text| format!("{}.", sentence(text)));
        let parts = [speed, passengers, cab, distance, destination];
        parts.into_iter().flatten().chain(conditions).collect()
    }
}

/// Without the stop at its end.
fn sentence(text: &str) -> &str {
    text.trim_end_matches('.')
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rule_set::consequence::{
        CabRestriction, Destination, DestinationKind, PassengerRestriction,
    };
    use crate::rule_set::verdict::ImposedSpeed;
    use crate::units::{Distance, Speed};

    fn restricted(urgency: Urgency, imposed: Imposed) -> Together {
        Together { urgency, imposed }
    }

    fn everything() -> Imposed {
        Imposed {
            speed: Some(ImposedSpeed {
                speed: Speed(63.57),
                words: "half".to_owned(),
            }),
            passengers: Some(PassengerRestriction::NoneAboard),
            cab: Some(CabRestriction::LeadingCab),
            distance_max: Some(Distance(12_490.0)),
            destination: Some(Destination {
                kind: DestinationKind::NextSiding,
                words: "before the stored air is used up".to_owned(),
            }),
            conditions: vec!["Not left standing without scotches.".to_owned()],
            tell: vec!["fleet controller".to_owned()],
        }
    }

    /// The same with another speed.
    fn speed_of(km_h: f64) -> Imposed {
        Imposed {
            speed: Some(ImposedSpeed {
                speed: Speed(km_h),
                words: String::new(),
            }),
            ..everything()
        }
    }

    #[test]
    fn every_imposed_restriction_is_said() {
        let said = restricted(Urgency::WithRestrictions, everything()).run();
        for part in [
            "Not faster than 63 kilometres an hour.",
            "none aboard",
            "Drive it from the leading cab only.",
            "Not further than 12.4 kilometres.",
            "next siding, before the stored air is used up.",
            "Not left standing without scotches.",
        ] {
            assert!(said.contains(part), "{part}: {said}");
        }
    }

    /// A stop and the conditions of a run are two verdicts, and are said as two.
    #[test]
    fn what_other_rules_ask_is_told_apart_from_a_stop() {
        let none = restricted(Urgency::MayNotRun, Imposed::default());
        let stopped = restricted(Urgency::MayNotRun, everything());
        assert_eq!(stopped.run(), "Do not move.");
        let besides = " Apart from that, other rules ask, while it stands and for any move that is \
                       authorised all the same: Not faster than 63 kilometres an hour. Passengers: \
                       none aboard. Drive it from the leading cab only. Not further than 12.4 \
                       kilometres. No further than: next siding, before the stored air is used up. Not \
                       left standing without scotches.";
        assert_eq!(stopped.besides(&none), besides);
        assert_eq!(none.besides(&stopped), "", "it never runs until then");
        let runs = restricted(Urgency::WithRestrictions, Imposed::default());
        assert_eq!(runs.besides(&stopped), besides);
        let told = restricted(Urgency::WithRestrictions, everything());
        assert_eq!(told.besides(&stopped), "", "it is said already");
        assert_eq!(told.besides(&runs), "");
        let slower = restricted(Urgency::MayNotRun, speed_of(40.0));
        let besides = told.besides(&slower);
        assert!(
            besides.ends_with("all the same: Not faster than 40 kilometres an hour."),
            "{besides}"
        );
    }

    #[test]
    fn what_holds_once_stored_air_is_used_up_is_said_where_it_is_something_else() {
        let now = restricted(Urgency::WithRestrictions, everything());
        let same = restricted(Urgency::WithRestrictions, everything());
        assert_eq!(now.then(&same), "");
        let stopped = restricted(Urgency::MayNotRun, Imposed::default());
        let says = " Once stored air is used up, it may not run.";
        assert_eq!(now.then(&stopped), says);
        assert_eq!(stopped.then(&now), "", "it may not go on until then either");
        let slower = restricted(Urgency::WithRestrictions, speed_of(40.0));
        assert!(now.then(&slower).contains("Not faster than 40"));
    }
}
