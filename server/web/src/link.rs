//! Addresses of pages. Every name is encoded as one piece of a path, whatever it holds.

use domain::configuration::component::{ComponentRef, PositionRef};
use domain::identity::{CarNumber, DepotName, FleetName, LocationName, TrainId, UnitNumber};
use domain::ledger::entry::Seq;
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};

/// All but the unreserved characters of RFC 3986, 2.3.
const ENCODED: &AsciiSet = &NON_ALPHANUMERIC
    .remove(b'-')
    .remove(b'.')
    .remove(b'_')
    .remove(b'~');

/// A text as one piece of a path or as a value of a query.
pub(crate) fn piece(text: &str) -> String {
    utf8_percent_encode(text, ENCODED).to_string()
}

/// The page of a car.
pub(crate) fn car(number: &CarNumber) -> String {
    format!("/cars/{}", piece(number.as_str()))
}

/// The page of a unit.
pub(crate) fn unit(number: &UnitNumber) -> String {
    format!("/units/{}", piece(number.as_str()))
}

/// The page of a train.
pub(crate) fn train(id: &TrainId) -> String {
    format!("/trains/{}", piece(id.as_str()))
}

/// The page of a fleet.
pub(crate) fn fleet(name: &FleetName) -> String {
    format!("/fleets/{}", piece(name.as_str()))
}

/// The page of a fleet at one of its depots.
pub(crate) fn fleet_at(name: &FleetName, depot: &DepotName) -> String {
    format!("{}?depot={}", fleet(name), piece(depot.as_str()))
}

/// The page of a position.
pub(crate) fn position(at: &PositionRef) -> String {
    let (car, code) = (piece(at.car.as_str()), piece(at.position.as_str()));
    format!("/positions/{car}/{code}")
}

/// The page of a component.
pub(crate) fn component(component: &ComponentRef) -> String {
    let (part, serial) = (&component.part, &component.serial);
    format!(
        "/components/{}/{}",
        piece(part.as_str()),
        piece(serial.as_str())
    )
}

/// The list of what is kept at a location.
pub(crate) fn location(name: &LocationName) -> String {
    format!("/components?location={}", piece(name.as_str()))
}

/// The page of an entry of the ledger.
pub(crate) fn entry(seq: Seq) -> String {
    format!("/ledger/{}", seq.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_encoded_as_one_piece_each() {
        let at = PositionRef {
            car: "41 01".parse().expect("a car number"),
            position: "+B2=BS-V3.1".parse().expect("a position code"),
        };
        assert_eq!(position(&at), "/positions/41%2001/%2BB2%3DBS-V3.1");
        let part = ComponentRef {
            part: "P/7 a".parse().expect("a part number"),
            serial: "ä?1".parse().expect("a serial number"),
        };
        assert_eq!(component(&part), "/components/P%2F7%20a/%C3%A4%3F1");
    }
}
