//! What needs two people, one of each kind, in the small fleet.

use domain::configuration::component::Condition;
use domain::configuration::concession::{Allowed, Concession};
use domain::configuration::held::Held;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;

use crate::baselines::effective;
use crate::facts::{car_of_fleet, held, judged, rule_set};
use crate::fleet::{self, LATER_VALVE, SECOND, VALVE, car_type_with, overhaul};
use crate::register::Register;

/// The concession that is prolonged.
const PROLONGED: &str = "C-1";
const SINCE: &str = "2026-10-01T00:00Z";
const THEN: &str = "2026-10-02T00:00Z";

/// The later valve is allowed at the second position.
fn concession(number: &str) -> Concession {
    Concession {
        number: number.parse().expect("a concession's number"),
        cars: "4101 to 4102".parse().expect("cars"),
        position: SECOND.parse().expect("a position code"),
        allows: Allowed::Part(LATER_VALVE.parse().expect("a part number")),
        values: None,
        reason: "until stock arrives".to_owned(),
        until: "2027-01-31".parse().expect("a day"),
    }
}

/// A proposal of every kind: an evidence hold is lifted that an entry set.
pub fn of_each_kind(hold: Seq) -> Vec<Proposal> {
    let Fact::CarTypeDefined(design) = car_type_with("C", &[VALVE], None) else {
        panic!("a car type")
    };
    let Fact::ProcedureDefined(mut procedure) = fleet::procedure() else {
        panic!("a procedure")
    };
    procedure.revision = "B".parse().expect("a revision");
    let Fact::CarRegistered(new) = car_of_fleet("4104") else {
        panic!("a car")
    };
    vec![
        Proposal::Lifting {
            hold,
            evidence: "release by the investigator in charge".to_owned(),
        },
        Proposal::RuleSet(Box::new(rule_set())),
        Proposal::CarType(design),
        Proposal::Effectivity(effective("B", "4101", "2026-11-25")),
        Proposal::Task(Box::new(overhaul("B", 60))),
        Proposal::Procedure(Box::new(procedure)),
        Proposal::Car(new),
        Proposal::Concession(concession("C-2")),
        Proposal::Prolongation {
            number: PROLONGED.parse().expect("a concession's number"),
            until: "2027-03-31".parse().expect("a day"),
        },
        Proposal::Release {
            component: fleet::components().valves[0].clone(),
            condition: Condition::Serviceable,
            evidence: "inspection".to_owned(),
        },
    ]
}

/// Records, in the autumn of 2026, the small fleet and what proposals of every kind rest on, and
/// gives these.
pub async fn found(register: &mut Register) -> Vec<Proposal> {
    register.now_is("2026-11-01T06:00Z");
    let components = fleet::found(register, SINCE).await;
    let granted = Fact::ConcessionGranted(concession(PROLONGED));
    register.bring(SINCE, granted).await;
    let quarantined = judged(&components.valves[0], Condition::Quarantined);
    register.record(THEN, quarantined).await;
    let kept = held(Held::Component(components.relay));
    of_each_kind(register.bring(THEN, kept).await)
}
