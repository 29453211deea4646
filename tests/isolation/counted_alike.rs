//! Every answer about a train counts stored air as its decision does, on the invented fleet: where that is
//! told as emptied, no page draws it, loses it or leads along it.

use super::said_and_checked::{UNIT, question};
use domain::circuit::Mode;
use domain::configuration::component::PositionRef;
use domain::decision::decide;
use domain::isolation::Supply;
use domain::isolation::fault_finding::{AsRecorded, Observation};
use domain::isolation::observed::{During, LookedAt, Seen};
use domain::isolation::path::Reached;
use tests::car_type_text::read;

const EMPTIED: &[&str] = &["1:=BS-QM1:closed_vented"];

fn at(position: &str) -> PositionRef {
    PositionRef {
        car: read("1"),
        position: read(position),
    }
}

#[test]
fn no_answer_counts_air_that_the_decision_does_not() {
    let question = question(UNIT, EMPTIED);
    let decision = decide(&question, &[]).unwrap();
    assert_eq!(question.air_not_counted().unwrap(), decision.spent);
    assert_eq!(decision.spent.len(), 1);
    let after = decision.percentage.as_ref().unwrap().value.after;
    let weak = question.weak_points().unwrap();
    assert_eq!(weak.at_once, after.braked_weight());
    let mut effects = decision.effects.iter().map(|one| &one.effect);
    let now = effects.find(|one| (one.mode, one.supply) == (Mode::Emergency, Supply::Now));
    let flow = question
        .flow(&read("1"), Mode::Emergency, Supply::Now)
        .unwrap();
    assert_eq!(flow.effect.counts, now.unwrap().counts);
    assert_eq!(flow.effect.counts.each_car[0].available, 0);
    let path = question.path(&at("=BS1-MB1"), Mode::Emergency).unwrap();
    assert_eq!(path.reached, Reached::Interrupted);
}

#[test]
fn closing_takes_nothing_that_is_lost_already_and_leaves_to_drain_what_may_be_charged() {
    let emptied = question(UNIT, EMPTIED);
    let component = at("=BS1-MB1");
    let found = emptied.what_to_close(&component, &[]).unwrap();
    assert_eq!(found.closing.sets[0].losses.at_once.0, 0);
    let sound = question(UNIT, &[]);
    let takes = sound.what_to_close(&component, &[]).unwrap();
    assert!(0 < takes.closing.sets[0].losses.at_once.0);
    // Whoever works on the relay valve counts on the reservoir all the same.
    let relay = emptied.what_to_close(&at("=BS1-QN3"), &[]).unwrap();
    let mut charged = relay.closing.sets.iter().flat_map(|set| &set.charged);
    assert!(charged.any(|one| one.at.position.as_str() == "=BS-CM1"));
}

#[test]
fn what_is_seen_is_explained_with_air_that_is_not_counted_and_without() {
    let question = question(UNIT, EMPTIED);
    for seen in [Seen::NotBraking, Seen::Braking] {
        let observation = Observation {
            at: LookedAt::Bogie {
                car: 0,
                car_number: read("1"),
                bogie: 1,
            },
            during: During::Emergency,
            seen,
        };
        let found = question.find_faults(&[observation], Supply::Now).unwrap();
        assert_eq!(found.as_recorded, AsRecorded::Explains, "{seen:?}");
    }
}
