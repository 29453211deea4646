//! Addresses of pages, with names percent-encoded.

use crate::as_at::AsAtQuery;
use askama::filters::urlencode_strict;
use domain::configuration::component::{ComponentRef, PositionRef, Subject};
use domain::configuration::host::HostPosition;
use domain::due::state::State;
use domain::identity::{
    CarNumber, CarTypeName, ConcessionNumber, DepotName, FleetName, LocationName,
    ModificationNumber, PartNumber, PersonName, PositionCode, Revision, RuleSetName, TestRecordId,
    TrainId, UnitNumber, VisitNumber,
};
use domain::ledger::entry::Seq;
use domain::ledger::subjects::SubjectKind;
use std::fmt::Display;

/// A text as part of an address. Encodes all but letters, digits and `-._~`.
pub(crate) fn encoded(text: impl Display) -> String {
    match urlencode_strict(text) {
        Ok(encoded) => encoded.to_string(),
        Err(never) => match never {},
    }
}

/// A path with a query: fields with a value, in their order.
pub(crate) fn with_query<'a>(
    path: &str,
    fields: impl IntoIterator<Item = (&'a str, &'a str)>,
) -> String {
    let mut address = path.to_owned();
    let mut mark = '?';
    for (name, value) in fields {
        if !value.is_empty() {
            address.push(mark);
            address.push_str(name);
            address.push('=');
            address.push_str(&encoded(value));
            mark = '&';
        }
    }
    address
}

/// The page on which an administrator keeps an account.
pub(crate) fn account(name: &PersonName) -> String {
    format!("/accounts/{}", encoded(name))
}

/// The page of a car.
pub(crate) fn car(number: &CarNumber) -> String {
    format!("/cars/{}", encoded(number))
}

/// The page of a unit.
pub(crate) fn unit(number: &UnitNumber) -> String {
    format!("/units/{}", encoded(number))
}

/// The page of a fleet.
pub(crate) fn fleet(name: &FleetName) -> String {
    format!("/fleets/{}", encoded(name))
}

/// The page of a fleet at one of its depots.
pub(crate) fn fleet_at(name: &FleetName, depot: &DepotName) -> String {
    with_query(&fleet(name), [("depot", depot.as_str())])
}

/// What is in stock of a part.
pub(crate) fn stock_of(part: &PartNumber) -> String {
    with_query("/components", [("part", part.as_str())])
}

/// Every item of a batch of a part, wherever it is.
pub(crate) fn batch(part: impl Display, batch: impl Display) -> String {
    let (part, batch) = (part.to_string(), batch.to_string());
    with_query("/components", [("batch", &*batch), ("part", &*part)])
}

/// The cars that carry items of a batch of a part.
pub(crate) fn carrying_batch(part: impl Display, batch: impl Display) -> String {
    let (part, batch) = (part.to_string(), batch.to_string());
    let fields = [("ask", "batch"), ("part", &*part), ("batch", &*batch)];
    with_query("/carrying", fields)
}

/// The entries of the ledger about a thing.
pub(crate) fn entries_about(kind: SubjectKind, name: impl std::fmt::Display) -> String {
    let name = name.to_string();
    with_query("/ledger", [("about", kind.name()), ("name", &*name)])
}

/// The list of what is kept at a location.
pub(crate) fn location(name: &LocationName) -> String {
    with_query("/components", [("location", name.as_str())])
}

/// The page of a revision of a rule set.
pub(crate) fn rule_set(name: &RuleSetName, revision: &Revision) -> String {
    format!("/rule-sets/{}/{}", encoded(name), encoded(revision))
}

/// The page of a concession.
pub(crate) fn concession(number: &ConcessionNumber) -> String {
    format!("/concessions/{}", encoded(number))
}

/// The page of a modification.
pub(crate) fn modification(number: &ModificationNumber) -> String {
    format!("/modifications/{}", encoded(number))
}

/// The page of a revision of a car type.
pub(crate) fn car_type(name: &CarTypeName, revision: &Revision) -> String {
    format!("/car-types/{}/{}", encoded(name), encoded(revision))
}

/// The page of a train.
pub(crate) fn train(id: &TrainId) -> String {
    format!("/trains/{}", encoded(id))
}

/// The decision about a formation that is no train.
pub(crate) fn formation(text: impl Display) -> String {
    format!("/decision?formation={}", encoded(text))
}

/// The verdict about whatever a car runs in.
pub(crate) fn may_it_run(car: &CarNumber) -> String {
    with_query("/may-it-run", [("car", car.as_str())])
}

/// The overdue work on a car and on what is fitted to it, as at a time where one is given.
pub(crate) fn overdue_on(car: &CarNumber, times: &AsAtQuery) -> String {
    let AsAtQuery { at, known } = times;
    let fields = [
        ("car", car.as_str()),
        ("state", State::Overdue.name()),
        ("at", at.as_str()),
        ("known", known.as_str()),
    ];
    with_query("/due", fields)
}

/// The work that is due by now on a car and on what is fitted to it.
pub(crate) fn due_now_on(car: &CarNumber) -> String {
    with_query(
        "/due",
        [("car", car.as_str()), ("state", State::Due.name())],
    )
}

/// The circuit of a car in its unit, or alone, with a position marked.
pub(crate) fn circuit(
    unit: Option<&UnitNumber>,
    car: &CarNumber,
    position: Option<&PositionCode>,
) -> String {
    let formation = match unit {
        Some(unit) => format!("unit {unit}"),
        None => format!("car {car}"),
    };
    let fields = [
        ("formation", formation.as_str()),
        ("car", car.as_str()),
        ("position", position.map_or("", PositionCode::as_str)),
    ];
    format!("{}#car", with_query("/decision/circuit", fields))
}

/// The form that records a cut-out on a car.
pub(crate) fn record_isolation(car: &CarNumber) -> String {
    with_query("/isolations/new", [("car", car.as_str())])
}

/// The same form with a position and its state chosen.
pub(crate) fn record_as(at: &PositionRef, state: &str) -> String {
    let PositionRef { car, position } = at;
    let fields = [
        ("car", car.as_str()),
        ("position", position.as_str()),
        ("state", state),
    ];
    with_query("/isolations/new", fields)
}

/// The form that ends the cut-out at a position.
pub(crate) fn end_isolation(at: &PositionRef) -> String {
    let fields = [("car", at.car.as_str()), ("position", at.position.as_str())];
    with_query("/isolations/end", fields)
}

/// The form that records a test.
pub(crate) fn record_test(subject: &Subject) -> String {
    match subject {
        Subject::Car(car) => record_car_test(car),
        Subject::Component(component) => record_component_test(component),
    }
}

/// The form that records a test of a car as a whole.
pub(crate) fn record_car_test(car: &CarNumber) -> String {
    with_query("/tests/new", [("car", car.as_str())])
}

/// The form that records a test of a component.
pub(crate) fn record_component_test(component: &ComponentRef) -> String {
    let (part, serial) = (component.part.as_str(), component.serial.as_str());
    with_query("/tests/new", [("part", part), ("serial", serial)])
}

/// The page of a test record.
pub(crate) fn test(id: &TestRecordId) -> String {
    format!("/test-records/{}", encoded(id))
}

/// The page of a component.
pub(crate) fn component(component: &ComponentRef) -> String {
    let (part, serial) = (encoded(&component.part), encoded(&component.serial));
    format!("/components/{part}/{serial}")
}

/// The life of a component from its making to now.
pub(crate) fn life(of: &ComponentRef) -> String {
    format!("{}/life", component(of))
}

/// The page of a position.
pub(crate) fn position(at: &PositionRef) -> String {
    let (car, position) = (encoded(&at.car), encoded(&at.position));
    format!("/positions/{car}/{position}")
}

/// The page of a position of a car, or of the assembly whose position it is.
pub(crate) fn place(at: &HostPosition) -> String {
    match (at.assembly(), at.on_car()) {
        (Some(assembly), _) => component(assembly),
        (None, Some(at)) => position(&at),
        (None, None) => String::new(),
    }
}

/// The page of what work or a test is done on.
pub(crate) fn subject(subject: &Subject) -> String {
    match subject {
        Subject::Component(one) => component(one),
        Subject::Car(number) => car(number),
    }
}

/// The form by which a decision about a train is taken.
pub(crate) fn decide(train: &TrainId) -> String {
    format!("{}/decide", self::train(train))
}

/// The sheet of a decision.
pub(crate) fn decision(seq: Seq) -> String {
    format!("/decisions/{}", seq.0)
}

/// The page of a check of the fleet.
pub(crate) fn fleet_check(seq: Seq) -> String {
    format!("/fleet-checks/{}", seq.0)
}

/// The form that answers a check of the fleet for a car.
pub(crate) fn fleet_check_answer(seq: Seq, car: &CarNumber) -> String {
    let path = with_query(&fleet_check(seq), [("car", car.as_str())]);
    format!("{path}#answer")
}

/// The visits planned for a unit.
pub(crate) fn visits_of(unit: &UnitNumber) -> String {
    with_query("/visits", [("unit", unit.as_str())])
}

/// The page of a visit.
pub(crate) fn visit(number: &VisitNumber) -> String {
    format!("/visits/{}", encoded(number.as_str()))
}

/// The page of an evidence hold.
pub(crate) fn hold(seq: Seq) -> String {
    format!("/holds/{}", seq.0)
}

/// The form that holds a car as evidence.
pub(crate) fn hold_car(car: &CarNumber) -> String {
    with_query("/holds/new", [("car", car.as_str())])
}

/// The form that holds a component as evidence.
pub(crate) fn hold_component(component: &ComponentRef) -> String {
    let (part, serial) = (component.part.as_str(), component.serial.as_str());
    with_query("/holds/new", [("part", part), ("serial", serial)])
}

/// The form that holds an entry as evidence.
pub(crate) fn hold_entry(seq: Seq) -> String {
    with_query("/holds/new", [("entry", seq.0.to_string().as_str())])
}

/// The page of an entry.
pub(crate) fn entry(seq: Seq) -> String {
    format!("/ledger/{}", seq.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_with_signs_stay_one_part_of_the_address() {
        let one = ComponentRef {
            part: "DV/2 10".parse().unwrap(),
            serial: "7+8".parse().unwrap(),
        };
        assert_eq!(component(&one), "/components/DV%2F2%2010/7%2B8");
        let at = PositionRef {
            car: "4101".parse().unwrap(),
            position: "=BS1-Q1".parse().unwrap(),
        };
        assert_eq!(position(&at), "/positions/4101/%3DBS1-Q1");
    }

    #[test]
    fn empty_fields_are_left_out_of_a_query() {
        let address = with_query(
            "/due",
            [("fleet", "Sedge & Co"), ("depot", ""), ("car", "1")],
        );
        assert_eq!(address, "/due?fleet=Sedge%20%26%20Co&car=1");
    }
}
