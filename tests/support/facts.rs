//! Facts in few words, with what a test seldom varies filled in.

use crate::locations::sent_to;
use domain::configuration::car::{Car, OrderedCar, Orientation, Unit};
use domain::configuration::certificate::{Certificate, Left, LifeLeft};
use domain::configuration::component::{
    ComponentRef, Condition, PositionRef, RemovalReason, Subject,
};
use domain::configuration::held::Held;
use domain::configuration::host::{Host, HostPosition};
use domain::configuration::location::Sent;
use domain::decision::checks::CheckKind;
use domain::isolation::CutOutState;
use domain::ledger::entry::Seq;
use domain::ledger::fact::{
    Brought, Confirmation, CutOut, Ended, Fact, Fitting, Reading, Receipt, Removal,
};
use domain::ledger::proposal::Proposal;
use domain::rule_set::RuleSet;
use domain::test_record::record::{Instrument, MeasuredValue, TestRecord};
use domain::time::{Day, Instant};
use domain::units::{Amount, Meter};

use crate::fleet::{CAR_TYPE, DEPOT, FLEET, LEAKAGE, LIFE, OVERHAUL, PROCEDURE};

/// A moment from its text.
pub fn at(text: &str) -> Instant {
    text.parse().expect("a time with its offset")
}

/// A component by part and serial number.
pub fn component(part: &str, serial: &str) -> ComponentRef {
    ComponentRef {
        part: part.parse().expect("a part number"),
        serial: serial.parse().expect("a serial number"),
    }
}

/// A position of a car.
pub fn position(car: &str, code: &str) -> PositionRef {
    PositionRef {
        car: car.parse().expect("a car number"),
        position: code.parse().expect("a position code"),
    }
}

/// A car came into the register, kept at a depot, with a baseline revision.
pub fn car(number: &str, revision: &str, depot: &str) -> Fact {
    Fact::CarRegistered(Car {
        number: number.parse().expect("a car number"),
        vehicle_number: None,
        entered_service_on: None,
        car_type: CAR_TYPE.parse().expect("a car type"),
        revision: revision.parse().expect("a revision"),
        fleet: FLEET.parse().expect("a fleet"),
        depot: depot.parse().expect("a depot"),
    })
}

/// A car of revision A came into the register at the fleet's depot.
pub fn car_of_fleet(number: &str) -> Fact {
    car(number, "A", DEPOT)
}

/// A unit was formed of cars that all stand forward.
pub fn unit(number: &str, cars: &[&str]) -> Fact {
    let place = |car: &&str| OrderedCar {
        car: car.parse().expect("a car number"),
        orientation: Orientation::Forward,
    };
    Fact::UnitFormed(Unit {
        number: number.parse().expect("a unit number"),
        cars: cars.iter().map(place).collect(),
    })
}

/// What a component that is new and unused brings with it.
pub fn receipt(component: &ComponentRef, made_on: &str) -> Receipt {
    let nothing = Some(Amount(0));
    Receipt {
        component: component.clone(),
        condition: Condition::Serviceable,
        location: "Store".parse().expect("a location"),
        manufactured_on: Some(made_on.parse::<Day>().expect("a day")),
        overhauled_on: None,
        brought: Brought {
            odometer: nothing,
            running_hours: nothing,
            compressor_hours: nothing,
        },
        since_overhaul: Brought::default(),
        certificate: Some("C 1001".to_owned()),
        modification: None,
        batch: None,
        release: None,
        sent: Sent::default(),
        alike_seen: None,
    }
}

/// A component was fitted.
pub fn fitted(component: &ComponentRef, at: &PositionRef) -> Fact {
    fitted_at(component, &at.clone().into())
}

/// A component was fitted at a position of a car or an assembly.
pub fn fitted_at(component: &ComponentRef, at: &HostPosition) -> Fact {
    Fact::Fitted(Fitting {
        component: component.clone(),
        at: at.clone(),
        concession: None,
        ended: None,
    })
}

/// A position of an assembly.
pub fn inside(assembly: &ComponentRef, code: &str) -> HostPosition {
    HostPosition {
        host: Host::Assembly(assembly.clone()),
        position: code.parse().expect("a position code"),
    }
}

/// A component was fitted and has been removed since, still serviceable.
pub fn fitted_until(component: &ComponentRef, at: &PositionRef, until: Instant) -> Fact {
    fitted_until_as(component, at, until, Condition::Serviceable)
}

/// A component was fitted, has been removed since, and is in a condition from then on.
pub fn fitted_until_as(
    component: &ComponentRef,
    at: &PositionRef,
    until: Instant,
    condition: Condition,
) -> Fact {
    fitted_at_until_as(component, &at.clone().into(), until, condition)
}

/// The same at a position of a car or an assembly.
pub fn fitted_at_until_as(
    component: &ComponentRef,
    at: &HostPosition,
    until: Instant,
    condition: Condition,
) -> Fact {
    Fact::Fitted(Fitting {
        component: component.clone(),
        at: at.clone(),
        concession: None,
        ended: Some(Ended {
            at: until,
            removal: removal(condition),
        }),
    })
}

fn removal(condition: Condition) -> Removal {
    Removal {
        // What comes off for its work is not serviceable.
        reason: if condition == Condition::Serviceable {
            RemovalReason::Access
        } else {
            RemovalReason::Due
        },
        to: "Workshop".parse().expect("a location"),
        sent: Sent::default(),
        condition,
        evidence: (condition == Condition::Serviceable).then(|| "inspection".to_owned()),
    }
}

/// A component was removed and is to be judged.
pub fn removed(component: &ComponentRef) -> Fact {
    removed_as(component, Condition::RemovedToBeJudged)
}

/// A component was removed and is in a condition from then on.
pub fn removed_as(component: &ComponentRef, condition: Condition) -> Fact {
    Fact::Removed {
        component: component.clone(),
        from: None,
        removal: removal(condition),
    }
}

/// A component moved straight to another position.
pub fn moved(component: &ComponentRef, to: &PositionRef) -> Fact {
    moved_to(component, &to.clone().into())
}

/// A component moved straight to another position of a car or an assembly.
pub fn moved_to(component: &ComponentRef, to: &HostPosition) -> Fact {
    Fact::Moved {
        component: component.clone(),
        to: to.clone(),
        reason: RemovalReason::Access,
        concession: None,
    }
}

/// Two components changed places.
pub fn swapped(first: &ComponentRef, second: &ComponentRef) -> Fact {
    Fact::Swapped {
        first: first.clone(),
        second: second.clone(),
        reason: RemovalReason::MatchedSet,
        first_concession: None,
        second_concession: None,
    }
}

/// A component in store moved to another location.
pub fn relocated(component: &ComponentRef, to: &str) -> Fact {
    sent_to(component, to, (None, None))
}

/// A component's condition was judged.
pub fn judged(component: &ComponentRef, condition: Condition) -> Fact {
    Fact::ConditionJudged {
        component: component.clone(),
        condition,
        evidence: "inspection".to_owned(),
    }
}

/// A component's release from quarantine is proposed.
pub fn released(component: &ComponentRef, condition: Condition) -> Fact {
    Fact::Proposed(Proposal::Release {
        component: component.clone(),
        condition,
        evidence: "inspection".to_owned(),
    })
}

/// A rule set that lets everything run, and that nobody has agreed on yet.
pub fn rule_set() -> RuleSet {
    serde_json::from_value(serde_json::json!({
        "name": "Example", "revision": "A", "issuer": "test", "note": "invented for the tests",
        "valid_from": "2029-01-01",
        "rules": [{
            "title": "always", "source": "common_practice", "requirement": {"always": "may_run"},
        }],
    }))
    .expect("a rule set")
}

/// The odometer of a car was read, in whole kilometres.
pub fn read(car: &str, km: i64) -> Fact {
    Fact::ReadingTaken(Reading {
        car: car.parse().expect("a car number"),
        meter: Meter::Odometer,
        value: Amount::whole(km),
        confirmed: None,
    })
}

/// The same, and somebody stands by it.
pub fn read_confirmed(car: &str, km: i64) -> Fact {
    Fact::ReadingTaken(Reading {
        car: car.parse().expect("a car number"),
        meter: Meter::Odometer,
        value: Amount::whole(km),
        confirmed: Some("read twice, by two people".to_owned()),
    })
}

/// The odometer of a car was replaced, in whole kilometres.
pub fn odometer_replaced(car: &str, last_km: i64, first_km: i64) -> Fact {
    Fact::MeterReplaced {
        car: car.parse().expect("a car number"),
        meter: Meter::Odometer,
        last_value: Amount::whole(last_km),
        first_value: Amount::whole(first_km),
    }
}

/// A task was done on a component.
pub fn done(component: &ComponentRef, task: &str) -> Fact {
    done_on(Subject::Component(component.clone()), task)
}

/// A task was done.
pub fn done_on(subject: Subject, task: &str) -> Fact {
    Fact::TaskDone {
        subject,
        task: task.parse().expect("a task code"),
        evidence: "work order 7".to_owned(),
        release: None,
    }
}

/// A cock was found closed.
pub fn isolated(position: &PositionRef) -> Fact {
    Fact::Isolated(CutOut {
        at: position.clone(),
        state: CutOutState::ClosedVented,
        cause: "leaking cylinder".to_owned(),
        not_before: None,
    })
}

/// A check after a cut-out was confirmed.
pub fn check_confirmed(position: &PositionRef, isolation: Seq, check: CheckKind) -> Fact {
    Fact::CheckConfirmed(Confirmation {
        at: position.clone(),
        isolation,
        check,
        by: "F. Fitter".parse().expect("a person"),
    })
}

/// An isolation ended, proved by a test.
pub fn isolation_ended(position: &PositionRef, test: &str) -> Fact {
    Fact::IsolationEnded {
        at: position.clone(),
        proved_by: test.parse().expect("a test record's identity"),
    }
}

/// The leakage of a car's brake pipe was measured, in bar a minute.
pub fn leakage_tested(id: &str, car: &str, when: Instant, bar_a_minute: &str) -> Fact {
    Fact::TestRecorded(TestRecord {
        id: id.parse().expect("a test record's identity"),
        subject: Subject::Car(car.parse().expect("a car number")),
        procedure: PROCEDURE.parse().expect("a procedure's code"),
        revision: "A".parse().expect("a revision"),
        at: when,
        tester: "A. Tester".parse().expect("a person"),
        instrument: Instrument {
            number: "G-7".parse().expect("an instrument"),
            calibrated_until: Some("2099-12-31".parse().expect("a day")),
        },
        values: vec![MeasuredValue {
            measurand: LEAKAGE.parse().expect("a measurand"),
            load: None,
            value: bar_a_minute.parse().expect("a decimal"),
        }],
    })
}

/// Something was put under an evidence hold.
pub fn held(what: Held) -> Fact {
    Fact::HeldAsEvidence {
        held: what,
        investigation: "collision at Sedge Junction".to_owned(),
    }
}

/// An evidence hold was lifted.
pub fn hold_lifted(hold: Seq) -> Fact {
    Fact::HoldLifted {
        hold,
        evidence: "release by the investigator in charge".to_owned(),
    }
}

/// A certificate of release for an overhaul of a valve of the small fleet.
pub fn certificate() -> Certificate {
    Certificate {
        number: "C 1187".to_owned(),
        issuer: "Fenwick Brake Works, approval 12".to_owned(),
        signed_by: "S. Signatory".parse().expect("a person"),
        signed_on: "2029-03-01".parse().expect("a day"),
        supervised_by: Some("V. Supervisor".parse().expect("a person")),
        place: Some("Fenwick".parse().expect("a location")),
        instruction: "MI 44 revision C".to_owned(),
        done: "dismantled, cleaned, seals and springs replaced, tested".to_owned(),
        not_done: Some("body not crack-tested".to_owned()),
        left: vec![
            LifeLeft {
                task: LIFE.parse().expect("a task code"),
                left: Left::Run {
                    meter: Meter::Odometer,
                    amount: Amount::whole(1_400_000),
                },
            },
            LifeLeft {
                task: OVERHAUL.parse().expect("a task code"),
                left: Left::Until("2037-03-01".parse().expect("a day")),
            },
        ],
    }
}

/// An overhaul was done, and released by a certificate.
pub fn overhauled(component: &ComponentRef, release: Certificate) -> Fact {
    Fact::TaskDone {
        subject: Subject::Component(component.clone()),
        task: OVERHAUL.parse().expect("a task code"),
        evidence: release.number.clone(),
        release: Some(Box::new(release)),
    }
}
