//! After which work a single car test is due: source 49 CFR 238.311(e)(2) and (g) (2015 edition). The
//! whole test after a relay valve, a service or emergency portion or a pipe bracket was exchanged;
//! after a reservoir, a cylinder or a cut-out cock only the renewed portion is tested. That the
//! distributor valve stands for its portions and its bracket is our reading; the car is invented.

use domain::configuration::car_type::PositionKind;
use domain::ledger::dossier::Documents;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::obligations::{OfCar, Touch, WorkDone};
use domain::time::Zone;
use std::sync::Arc;
use tests::facts::at;
use tests::fleet::{CAR_TYPE, COCK, FIRST, RELAY, VALVE, brake_test_after, car_type_with, place};

const RESERVOIR: &str = "=BS-G1";
const CALIPER: &str = "=BS-C1";

fn documents() -> Documents {
    let others = [
        place(RESERVOIR, PositionKind::Reservoir, &[]),
        place(CALIPER, PositionKind::Caliper, &[]),
    ];
    let Fact::CarTypeDefined(design) = car_type_with("A", &[VALVE], others) else {
        panic!("a car type")
    };
    let mut documents = Documents::default();
    documents.put_car_type(Seq(1), Arc::new(*design));
    documents
}

/// Whether the test is due at once after what is at a place was exchanged.
fn is_due_after_exchange_at(place: &str) -> bool {
    let test = brake_test_after(
        "B",
        &[
            "exchanged relay_valve 2026-01-01",
            "exchanged distributor_valve 2026-01-01",
        ],
    );
    let exchanged = Touch {
        at: at("2026-03-01T08:00Z"),
        by: Seq(2),
        work: WorkDone::Exchanged(place.parse().unwrap()),
    };
    let of = OfCar {
        car_type: &CAR_TYPE.parse().unwrap(),
        tests: &[],
        documents: &documents(),
        zone: &Zone::UTC,
    };
    of.first_opening(&test, &[exchanged], None).is_some()
}

/// 238.311(e)(2).
#[test]
fn a_relay_valve_or_a_distributor_valve_that_was_exchanged_asks_for_the_whole_test() {
    for place in [RELAY, FIRST] {
        assert!(is_due_after_exchange_at(place), "{place}");
    }
}

/// 238.311(g).
#[test]
fn a_reservoir_a_cylinder_or_a_cock_that_was_exchanged_does_not() {
    for place in [RESERVOIR, CALIPER, COCK] {
        assert!(!is_due_after_exchange_at(place), "{place}");
    }
}
