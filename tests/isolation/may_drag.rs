//! Whether a brake is on, or may be, is one answer: in the warnings, in every effect of a decision,
//! in what is said over the radio, in what each brake must show and in what a cock takes. On the
//! invented fleet; after practice D.2, common practice, no source.

use super::said_and_checked::{SET, UNIT, decided, question, warned};
use domain::circuit::Mode;
use domain::circuit::compiled::CompiledCircuit;
use domain::circuit::train::{PlacedCar, TrainCircuit};
use domain::configuration::car::Orientation;
use domain::decision::seen_free::{Recorded, SeenFree};
use domain::decision::warning::WarningKind;
use domain::decision::{CutOutInTrain, Decision, decide};
use domain::isolation::Supply;
use domain::isolation::effect::{AppliedBy, Availability};
use domain::isolation::part_state::PartState;
use domain::isolation::takes::each_takes;
use domain::ledger::entry::Seq;
use std::collections::BTreeSet;
use std::sync::Arc;
use tests::car_type_text::read;

use crate::seed_data::car_types;

const HELD_ON: &str = "A brake is held on by it, or may be";

/// The air-applied brakes that an effect says may drag: their cars and positions, of each effect in
/// which air is commanded.
fn flagged(decision: &Decision, supply: Supply) -> Vec<BTreeSet<String>> {
    let braking = decision.effects.iter().map(|one| &one.effect);
    let braking = braking.filter(|one| one.mode != Mode::Holding && one.supply == supply);
    let of = |effect: &domain::isolation::effect::Effect| {
        let these = effect.actuators.iter().filter(|one| one.may_drag);
        these
            .map(|one| format!("{} {}", one.car_number, one.position))
            .collect()
    };
    braking.map(of).collect()
}

/// That a main brake cannot be said to be off.
fn unknown(decision: &Decision) -> BTreeSet<String> {
    let states = decision.part_states().into_iter();
    let unknown = states.filter(|one| one.state == PartState::Unknown);
    unknown
        .map(|one| format!("{} {}", one.car_number, one.position))
        .collect()
}

#[test]
fn a_distributor_cock_closed_with_its_reservoir_charged_is_told_alike_everywhere() {
    let decision = decided(SET, &["3:=BS-QM1:supply_cut"]);
    let on = unknown(&decision);
    assert_eq!(on.len(), 8, "{on:?}");
    for supply in Supply::ALL {
        assert_eq!(
            flagged(&decision, *supply),
            [on.clone(), on.clone()],
            "{supply}"
        );
    }
    let drags = warned(&decision, WarningKind::Drags).unwrap();
    assert!(
        drags.starts_with("8 brakes drag, or may: car 3 "),
        "{drags}"
    );
    assert_eq!(warned(&decision, WarningKind::DragsLater), None);
    assert!(decision.instructions[0].act.contains(HELD_ON));
    assert!(!decision.instructions[0].see.contains("loose"));
}

/// Who confirms that pads are free tells more than the state of a cock does, until that is another.
#[test]
fn a_brake_that_was_seen_free_does_not_drag_until_its_cut_out_changes() {
    let in_force = |pads_free| {
        let mut asked = question(SET, &[]);
        asked.cars[2].cut_outs.push(CutOutInTrain {
            position: read("=BS-QM1"),
            state: read("supply_cut"),
            since: None,
            recorded: Some(Recorded {
                by: Seq(7),
                pads_free,
                pressure_read: None,
            }),
        });
        decide(&asked, &[]).unwrap()
    };
    let open = in_force(None);
    assert_eq!(unknown(&open).len(), 8);
    assert_eq!(warned(&open, WarningKind::SeenFree), None);
    let seen = in_force(Some(SeenFree {
        at: "2026-11-28T14:00Z".parse().unwrap(),
        by: "A. Fitter".parse().unwrap(),
    }));
    assert_eq!(unknown(&seen), BTreeSet::new());
    for supply in Supply::ALL {
        assert!(flagged(&seen, *supply).iter().all(BTreeSet::is_empty));
    }
    assert_eq!(warned(&seen, WarningKind::Drags), None);
    assert_eq!(seen.seen_free.len(), 8);
    let says = warned(&seen, WarningKind::SeenFree).unwrap();
    for part in ["A. Fitter", "2026-11-28 14:00", "car 3 ", "Look again"] {
        assert!(says.contains(part), "{part}: {says}");
    }
    assert!(!seen.instructions[0].act.contains(HELD_ON));
    // They brake no more than before.
    assert_eq!(
        seen.effects[0].effect.counts.axles,
        open.effects[0].effect.counts.axles
    );
}

#[test]
fn once_its_reservoir_is_drained_the_brake_is_cut_out_and_off() {
    let drained = ["3:=BS-QM1:supply_cut", "3:=BS-CM1:closed_vented"];
    let decision = decided(SET, &drained);
    assert_eq!(unknown(&decision), BTreeSet::new());
    assert_eq!(
        flagged(&decision, Supply::Now),
        [BTreeSet::new(), BTreeSet::new()]
    );
    assert_eq!(warned(&decision, WarningKind::Drags), None);
    let said = decision.instructions.iter();
    assert!(!said.clone().any(|one| one.act.contains(HELD_ON)));
    let isolated = decision.part_states().into_iter();
    let isolated = isolated.filter(|one| one.state == PartState::Isolated);
    assert_eq!(isolated.count(), 8);
}

/// A cock that does not vent, closed while the brake was on, leaves it on: however its state is
/// called, what it leaves charged behind it is the applied brake.
#[test]
fn a_cock_closed_on_an_applied_brake_leaves_it_on_whether_trapped_or_still_charged() {
    for cock in ["1:=BS1-QM1", "1:=BS1-QM2"] {
        let [trapped, charged] = ["closed_trapped", "supply_cut"]
            .map(|state| decided(UNIT, &[&format!("{cock}:{state}")]));
        assert_eq!(unknown(&trapped).len(), 4, "{cock}");
        assert_eq!(unknown(&charged), unknown(&trapped), "{cock}");
        assert_eq!(
            warned(&charged, WarningKind::Drags),
            warned(&trapped, WarningKind::Drags)
        );
        assert_eq!(
            flagged(&charged, Supply::Now),
            flagged(&trapped, Supply::Now)
        );
    }
}

/// What failed on the way may leave a brake on: the effects say so as the verdicts do.
#[test]
fn what_failed_on_the_way_may_drag_in_every_effect_too() {
    for supposing in ["3:=BS-QN1:failed", "3:=BS-QN2:failed", "3:=BS1-MB1:failed"] {
        let decision = decided(SET, &[supposing]);
        let on = unknown(&decision);
        assert!(!on.is_empty());
        for supply in Supply::ALL {
            assert_eq!(flagged(&decision, *supply), [on.clone(), on.clone()]);
        }
    }
}

/// Air shut in at a closed main reservoir pipe is supply: as it goes, air-applied brakes are lost and
/// only springs come on.
#[test]
fn behind_a_trapped_main_reservoir_pipe_only_springs_come_on_later() {
    let decision = decided(UNIT, &["1:=MP-QM2:closed_trapped"]);
    assert_eq!(warned(&decision, WarningKind::Drags), None);
    for supply in Supply::ALL {
        assert_eq!(
            flagged(&decision, *supply),
            [BTreeSet::new(), BTreeSet::new()]
        );
    }
    let dragging: Vec<&str> = decision.effects[1]
        .effect
        .actuators
        .iter()
        .filter(|one| one.availability == Availability::Dragging)
        .inspect(|one| assert_eq!(one.applied_by, AppliedBy::Spring))
        .map(|one| one.position.as_str())
        .collect();
    let later = warned(&decision, WarningKind::DragsLater).unwrap();
    let springs = format!(
        "{} brakes drag once stored air is used up, or may: car 1 {}.",
        dragging.len(),
        dragging.join(", ")
    );
    assert_eq!(later, springs);
}

/// Both springs of car 1 in a state, with something more supposed.
fn springs(state: &str, more: &[&str]) -> Decision {
    let released = ["=PB-MS1", "=PB-MS2"].map(|spring| format!("1:{spring}:{state}"));
    let supposing = released.iter().map(String::as_str);
    let supposing: Vec<&str> = supposing.chain(more.iter().copied()).collect();
    decided(UNIT, &supposing)
}

const RE_ARMED: &str = "they may have applied again by themselves, come on where that air goes, and are \
                        not counted to hold: car 1 =PB-MS1, =PB-MS2.";

/// Released with its cock vented, a spring is off. With the cock open again and no test since, air may
/// have been back at it, and may leak away.
#[test]
fn a_spring_released_until_air_returns_drags_once_air_that_came_back_has_gone() {
    let reopened = "1:=PB-QM2:reopened_not_proven";
    for state in ["released_until_air_returns", "released_by_hand"] {
        let shut = springs(state, &["1:=PB-QM2:closed_vented"]);
        assert_eq!(warned(&shut, WarningKind::DragsLater), None, "{state}");
        assert_eq!(warned(&shut, WarningKind::ReArmed), None, "{state}");
        let back = springs(state, &[reopened]);
        assert_eq!(warned(&back, WarningKind::Drags), None, "{state}");
        assert_eq!(
            warned(&back, WarningKind::DragsLater).unwrap(),
            "2 brakes drag once stored air is used up, or may: car 1 =PB-MS1, =PB-MS2."
        );
        assert!(
            warned(&back, WarningKind::ReArmed)
                .unwrap()
                .ends_with(RE_ARMED)
        );
        // Nothing keeps its air off: it is told, and none drags while a compressor feeds it.
        let fed = springs(state, &[]);
        assert_eq!(warned(&fed, WarningKind::DragsLater), None, "{state}");
        assert!(
            warned(&fed, WarningKind::ReArmed)
                .unwrap()
                .ends_with(RE_ARMED)
        );
    }
    let dead = springs("released_until_reset", &[reopened]);
    assert_eq!(warned(&dead, WarningKind::DragsLater), None);
    assert_eq!(warned(&dead, WarningKind::ReArmed), None);
}

#[test]
fn whoever_puts_a_parking_cock_back_is_told_of_springs_that_may_apply_again() {
    let back = |state: &str| {
        let mut asked = question(UNIT, &["1:=PB-QM2:open"]);
        for (position, state) in [("=PB-QM2", "closed_vented"), ("=PB-MS1", state)] {
            asked.cars[0].cut_outs.push(CutOutInTrain {
                position: read(position),
                state: read(state),
                since: None,
                recorded: None,
            });
        }
        let mut said = decide(&asked, &[]).unwrap().instructions.into_iter();
        let back = said.find(|one| one.at.position.as_str() == "=PB-QM2");
        back.unwrap().act
    };
    let told = back("released_until_air_returns");
    assert!(
        told.starts_with("Only where") && told.contains("applied again"),
        "{told}"
    );
    let told = back("released_until_reset");
    assert!(!told.contains("applied again"), "{told}");
}

#[test]
fn what_a_cock_takes_says_which_brakes_it_may_leave_on() {
    let coach = car_types()
        .into_iter()
        .find(|of| of.name.as_str() == "PC-C");
    let locomotive = car_types()
        .into_iter()
        .find(|of| of.name.as_str() == "PC-L");
    let cars = [locomotive, coach].into_iter().zip(1..);
    let cars = cars.map(|(of, number)| PlacedCar {
        number: read(&number.to_string()),
        orientation: Orientation::Forward,
        circuit: Arc::new(CompiledCircuit::new(of.unwrap()).unwrap()),
    });
    let takes = each_takes(&TrainCircuit::new(cars.collect()), 1).unwrap();
    for (position, stays_on) in [("=BS-QM1", true), ("=BS1-QM1", false)] {
        let mut these = takes.iter();
        let (_, takes) = these
            .find(|((code, _), _)| code.as_str() == position)
            .unwrap();
        let brakes: Vec<bool> = takes.brakes[&Mode::Emergency]
            .iter()
            .map(|one| one.may_drag)
            .collect();
        assert!(!brakes.is_empty());
        assert!(brakes.iter().all(|one| *one == stays_on), "{position}");
    }
}
